"""Pictures of care: how the intervals kept to the plan, and what was read."""

from datetime import date, timedelta
from typing import Any

from django.utils import timezone
from django.utils.safestring import SafeString

from shop import picture
from shop.calc import units
from shop.duties.models import Duty, StepQuantity
from shop.duties.queries import Record, Series
from shop.duties.wording import reading_words
from shop.people.fields import unit_for
from shop.people.models import Units


def intervals(duty: Duty, record: Record, today: date) -> SafeString:
    """Each time it was done as a stem as high as the days since the time before, the plan as a bar across it.

    Late ones are ruby and end in a square. At the right, hollow, the days since the last.
    """
    figure = picture.new_figure(110, 62)
    axes = figure.add_subplot()
    spans = record.spans
    for one in spans:
        x, days = one.day.toordinal(), one.since or 0
        colour = picture.RUBY if one.is_late else picture.INK
        axes.plot([x, x], [0, days], color=colour, linestyle="-", linewidth=1.6)
        axes.plot([x], [days], color=colour, linestyle="", marker="s" if one.is_late else "o", markersize=4.2)
    step = max(2.0, (spans[-1].day - spans[0].day).days / len(spans) * 0.38)
    for one in spans:
        if one.planned is not None:
            x = one.day.toordinal()
            axes.plot([x - step, x + step], [one.planned] * 2, color=picture.QUIET, linestyle="-", linewidth=1.2)
    last = record.intervals[-1].day
    if duty.is_active and today > last:
        axes.plot(
            [today.toordinal()],
            [(today - last).days],
            color=picture.INK,
            linestyle="",
            marker="o",
            markerfacecolor="none",
            markersize=5,
        )
    axes.set_ylim(bottom=0)
    axes.grid(visible=False, axis="x")
    _days_along(axes, spans[0].day, today)
    axes.set_title("days since the time before", loc="left", fontsize=9.5, color=picture.QUIET)
    return picture.svg(figure, title=f"{duty.name}: intervals against the plan", describes=told(duty, record))


def told(duty: Duty, record: Record) -> str:
    """What the picture of intervals shows, in words."""
    count = len(record.spans)
    if record.mean_since is None:
        return "It was recorded once."
    words = f"The last {count} intervals were {_days(record.mean_since)} on average"
    if record.mean_planned is not None:
        words += f", where the plan had {_days(record.mean_planned)}"
    if not record.late_count:
        return f"{words}. None was late."
    often = "One was late" if record.late_count == 1 else f"{record.late_count} were late"
    return f"{words}. {often}, at most by {_days(record.latest_by)}."


def _days(number: float) -> str:
    shown = f"{number:.1f}".removesuffix(".0")
    return "1 day" if shown == "1" else f"{shown} days"


def readings(series: Series) -> SafeString:
    """What was read in one step over time, with the shop's own limits as lines across."""
    step, reader = series.step, series.reader
    figure = picture.new_figure(110, 50)
    axes = figure.add_subplot()
    days = [timezone.localtime(point.entry.at).toordinal() for point in series.points]
    values = [_shown(point.reading or 0.0, step.quantity, reader) for point in series.points]
    axes.plot(days, values, color=picture.INK, linestyle="-", marker="o", markersize=3.2)
    for edge, name in ((step.low, "lowest"), (step.high, "highest")):
        if edge is not None:
            height = _shown(edge, step.quantity, reader)
            picture.line_across(axes, height, name)
    axes.grid(visible=False, axis="x")
    _days_along(axes, date.fromordinal(days[0]), date.fromordinal(days[-1]))
    axes.set_title(_unit(step.quantity, step.unit, reader), loc="left", fontsize=9.5, color=picture.QUIET)
    read = [point.reading for point in series.points if point.reading is not None]
    return picture.svg(
        figure,
        title=f"{step.reads}, each time it was read",
        describes=(
            f"{len(read)} readings between {reading_words(min(read), step, reader)} and "
            f"{reading_words(max(read), step, reader)}; the last {reading_words(read[-1], step, reader)}."
        ),
    )


def _shown(value: float, quantity: str, reader: Units) -> float:
    if quantity == StepQuantity.PLAIN:
        return value
    return units.from_stored(quantity, value, unit_for(quantity, reader))


def _unit(quantity: str, unit: str, reader: Units) -> str:
    return unit if quantity == StepQuantity.PLAIN else units.label(quantity, unit_for(quantity, reader))


def _days_along(axes: Any, first: date, last: date) -> None:
    """At most five days marked along the axis, evenly apart."""
    span = max(1, (last - first).days)
    edge = max(1.0, span / 30)
    axes.set_xlim(first.toordinal() - edge, last.toordinal() + edge)
    step = max(1, -(-span // 4))
    marked = sorted(last - timedelta(days=back) for back in range(0, span + 1, step))
    form = "%-d %b" if span < 200 else "%b %Y"
    axes.set_xticks([day.toordinal() for day in marked], [f"{day:{form}}" for day in marked])
