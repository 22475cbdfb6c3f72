"""The room's pictures: readings over time, each against the shop's own figures."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from django.utils import timezone
from django.utils.safestring import SafeString

from shop import clock, picture
from shop.calc import gas, units
from shop.people.fields import unit_for
from shop.people.models import Units
from shop.room.contents import MOST_BAR, full_kg
from shop.room.kinds import Kind
from shop.room.models import LIMIT_ORDER, Cylinder, GasUse, Limit
from shop.room.queries import Point
from shop.room.queries.vacuum import PointState
from shop.room.wording import said
from shop.wording import grouped


@dataclass(frozen=True)
class Line:
    """A line across a picture, at a stored value, with its words."""

    value: float
    words: str
    is_grave: bool


def limit_lines(limit: Limit | None) -> list[Line]:
    """The shop's limits that are set."""
    return [
        Line(value=edge, words=name.replace("_", " "), is_grave=name.startswith("hold"))
        for name in LIMIT_ORDER
        if limit and (edge := getattr(limit, name)) is not None
    ]


def reserve_line(use: GasUse) -> Line:
    """The gauge below which the cylinder is changed."""
    return Line(value=use.reserve_bar, words="change below", is_grave=True)


def reading_picture(
    about: Kind, course: Sequence[Point], lines: Sequence[Line], reader: Units, *, days: int, until: datetime
) -> SafeString:
    """One kind over the last `days`, with the shop's own figures as lines."""
    unit = unit_for(about.quantity, reader)
    figure, axes = _axes(units.label(about.quantity, unit), until - timedelta(days=days), until)
    _draw(axes, course, about.quantity, unit)
    for line in lines:
        _line(axes, units.from_stored(about.quantity, line.value, unit), line.words, line.is_grave)
    if about.quantity == "pressure":
        axes.set_ylim(bottom=0)
    count, low, high = (
        sum(point.many for point in course),
        min(point.low for point in course),
        max(point.high for point in course),
    )
    told = "; ".join(f"{line.words} {said(about.quantity, line.value, reader)}" for line in lines)
    return picture.svg(
        figure,
        title=f"{about.name}, last {days} day{'' if days == 1 else 's'}",
        describes=(
            f"{grouped(count)} readings between {said(about.quantity, low, reader)} and "
            f"{said(about.quantity, high, reader)}. {told or 'The shop has set no limits'}."
        ),
    )


def gauge_picture(cylinder: Cylinder, course: Sequence[Point], use: GasUse, reader: Units) -> SafeString:
    """A cylinder's gauge from its first reading to its last, with what full shows at 20 °C and the shop's reserve."""
    unit = unit_for("pressure", reader)
    start, end = course[0].at, course[-1].at
    figure, axes = _axes(units.label("pressure", unit), start, max(end, start + timedelta(days=2)))
    _draw(axes, course, "pressure", unit)
    full = min(MOST_BAR, gas.gauge_bar_at(full_kg(cylinder), cylinder.water_volume_l, 20.0))
    _line(axes, units.from_stored("pressure", full, unit), f"full, at {said('temperature', 20.0, reader)}", False)
    reserve = reserve_line(use)
    _line(axes, units.from_stored("pressure", reserve.value, unit), reserve.words, reserve.is_grave)
    axes.set_ylim(bottom=0)
    return picture.svg(
        figure,
        title=f"Gauge of cylinder {cylinder.mark}",
        describes=(
            f"From {said('pressure', course[0].value, reader)} at its first reading to "
            f"{said('pressure', course[-1].value, reader)} at its last."
        ),
    )


def drift_words(about: Kind, state: PointState, reader: Units) -> str:
    """A point's charts in words: where the smoothed suction stands, and whether that lies beyond what a clean line
    does."""
    clean = f"Clean: {said(about.quantity, state.baseline.target, reader)}"
    if state.charts is None:
        return f"{clean}. Not read since the line was cleaned."
    now = said(about.quantity, state.charts.ewma[-1].ewma, reader)
    if not state.charts.is_out or state.since is None:
        before = ""
        if state.strayed is not None:
            first, last = (clock.day_of(at) for at in state.strayed)
            before = (
                f" It did from {first:%-d %B} to {last:%-d %B}." if first != last else f" It did on {first:%-d %B}."
            )
        return f"{clean}; now {now}, smoothed. It does not stray beyond what a clean line does.{before}"
    how = "at once" if state.charts.is_step else "bit by bit"
    day = clock.day_of(state.since)
    return f"{clean}; now {now}, smoothed. It went {state.charts.way} {how}, beyond a clean line since {day:%-d %B}."


def drift_picture(about: Kind, state: PointState, reader: Units) -> SafeString:
    """A point's readings since the line was cleaned as dots, their smoothed course, the clean value and the limits."""
    assert state.charts is not None
    unit = unit_for(about.quantity, reader)
    start, end = state.taken[0].at, max(state.taken[-1].at, state.taken[0].at + timedelta(days=2))
    figure, axes = _axes(units.label(about.quantity, unit), start, end)

    def shown(value: float) -> float:
        return units.from_stored(about.quantity, value, unit)

    places = [_place(each.at) for each in state.taken]
    axes.plot(
        places, [shown(each.value) for each in state.taken], color=picture.QUIET, linestyle="", marker="o", markersize=3
    )
    axes.plot(places, [shown(each.ewma) for each in state.charts.ewma], color=picture.INK, linestyle="-")
    for height in (state.charts.ewma[-1].low, state.charts.ewma[-1].high):
        axes.axhline(shown(height), color=picture.RUBY, linewidth=1.2)
    low = state.charts.ewma[-1].low
    picture.line_across(axes, shown(low), "smoothed beyond: it strays", at_left=True)
    picture.line_across(axes, shown(state.baseline.target), "clean", colour=picture.QUIET, dashes=(0, (4, 3)))
    return picture.svg(
        figure,
        title=f"{about.name} since the line was cleaned",
        describes=f"{len(state.taken)} readings. {drift_words(about, state, reader)}",
    )


def _axes(label: str, start: datetime, end: datetime) -> tuple[Any, Any]:
    """A figure and its axes: days of the room's zone along it, the unit above it."""
    figure = picture.new_figure()
    axes = figure.add_subplot()
    edge = (end - start) / 60
    axes.set_xlim(_place(start - edge), _place(end + edge))
    if end - start <= timedelta(days=2):
        hours = _marked_hours(start, end)
        axes.set_xticks([_place(at) for at in hours], [f"{timezone.localtime(at):%H:%M}" for at in hours])
        axes.grid(visible=False, axis="x")
        axes.set_title(label, loc="left", fontsize=9.5, color=picture.QUIET)
        return figure, axes
    days = _marked_days(clock.day_of(start) + timedelta(days=1), clock.day_of(end))
    form = "%-d %b" if (end - start).days < 200 else "%b %Y"
    axes.set_xticks([_place(clock.day_bounds(day)[0]) for day in days], [f"{day:{form}}" for day in days])
    axes.grid(visible=False, axis="x")
    axes.set_title(label, loc="left", fontsize=9.5, color=picture.QUIET)
    return figure, axes


def _place(moment: datetime) -> float:
    """Where a moment stands on the axis: in days."""
    return moment.timestamp() / 86400


def _marked_hours(start: datetime, end: datetime) -> list[datetime]:
    """Every sixth hour of the room's day, or every twelfth in two days."""
    step = 6 if end - start <= timedelta(days=1) else 12
    first = timezone.localtime(start).replace(minute=0, second=0, microsecond=0)
    hours = [first + timedelta(hours=n) for n in range(int((end - start) / timedelta(hours=1)) + 2)]
    return [at for at in hours if start <= at <= end and timezone.localtime(at).hour % step == 0]


def _marked_days(first: date, last: date) -> list[date]:
    """At most five days, evenly apart, the last of them `last`."""
    step = max(1, -(-(last - first).days // 4))
    return sorted(last - timedelta(days=back) for back in range(0, max(0, (last - first).days) + 1, step))


def _draw(axes: Any, course: Sequence[Point], quantity: str, unit: str) -> None:
    """The readings as a line, broken where the cylinder changes, with a dot on each while they are few; where they are
    thinned, the line is their mean, in a band from the lowest to the highest."""
    few = len(course) <= 60
    for run in _runs(course):
        if any(point.many > 1 for point in run):
            axes.fill_between(
                [_place(point.at) for point in run],
                [units.from_stored(quantity, point.low, unit) for point in run],
                [units.from_stored(quantity, point.high, unit) for point in run],
                facecolor=picture.RULE,
                edgecolor=picture.EDGE,  # what is told by it alone stands out from the ground: a spike of one day
                linewidth=0.9,
            )
        axes.plot(
            [_place(point.at) for point in run],
            [units.from_stored(quantity, point.value, unit) for point in run],
            color=picture.INK,
            linestyle="-",
            marker="o" if few or len(run) == 1 else "",
            markersize=3.2,
        )


def _runs(course: Sequence[Point]) -> Iterator[list[Point]]:
    for _, run in groupby(course, key=lambda point: point.cylinder_id):
        yield list(run)


def _line(axes: Any, height: float, words: str, is_grave: bool) -> None:
    """A line across at `height`: a grave one in ruby, another in quiet dashes."""
    colour, dashes = (picture.RUBY, "-") if is_grave else (picture.QUIET, (0, (4, 3)))
    picture.line_across(axes, height, words, colour=colour, dashes=dashes)
