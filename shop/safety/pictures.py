"""Pictures of the estimates (oxygen after a release or under a leak, vapour after a spill), and of reports by month."""

from typing import Any

from django.utils.safestring import SafeString

from shop import picture
from shop.calc import gas, units
from shop.people.fields import unit_for
from shop.people.models import Units
from shop.safety.queries.incidents import Numbers
from shop.safety.what_if import RELEASE, Asked, Leak, Release, Vapour
from shop.safety.wording import about_ppm
from shop.wording import grouped

_STYLES: dict[gas.Mixing, tuple[str, Any]] = {
    "displaced": (picture.INK, "-"),
    "mixed_escaping": (picture.QUIET, (0, (5, 2))),
    "added_then_mixed": (picture.QUIET, (0, (1, 2))),
}


def _volume(m3: float, reader: Units) -> str:
    return units.show("volume", m3, unit_for("volume", reader))


def _oxygen_axes(axes: Any, lowest: float, *, at_left: bool) -> None:
    """Oxygen upwards, with the two lines that matter, named where the curve leaves room for it."""
    bottom = max(0.0, min(15.0, lowest - 1.5))
    axes.set_ylim(bottom, 21.5)
    picture.line_across(axes, gas.SHORT_OF_OXYGEN, "19.5\u00a0%: short of oxygen below", at_left=at_left)
    if bottom < gas.LEAVE_AT - 0.5:
        picture.line_across(axes, gas.LEAVE_AT, "18\u00a0%", colour=picture.QUIET, dashes=(0, (4, 3)), at_left=at_left)
    axes.set_title("oxygen in the room, %", loc="left", fontsize=9.5, color=picture.QUIET)


def release_picture(asked: Asked, found: Release, reader: Units) -> SafeString:
    """Oxygen after all was let go, over the size of the room, by the three formulas; this room as a dot."""
    figure = picture.new_figure(110, 64)
    axes = figure.add_subplot()
    unit = unit_for("volume", reader)
    largest = max(1.25 * asked.room_m3, 1.35 * found.worst.smallest_m3)
    rooms = [max(largest * step / 60, largest / 200) for step in range(61)]
    for model, (colour, dashes) in _STYLES.items():
        axes.plot(
            [units.from_stored("volume", room, unit) for room in rooms],
            [gas.oxygen_after_release(room, found.gas_m3, model) for room in rooms],
            color=colour,
            linestyle=dashes,
            label=RELEASE[model].name.split(",")[0],
        )
    here = units.from_stored("volume", asked.room_m3, unit)
    axes.plot([here], [found.worst.percent], color=picture.RUBY, linestyle="", marker="s", markersize=6)
    axes.annotate(
        "this room",
        (here, found.worst.percent),
        xytext=(6, -4),
        textcoords="offset points",
        va="top",
        fontsize=8.5,
        color=picture.RUBY,
    )
    axes.set_xlim(left=0)
    _oxygen_axes(axes, found.worst.percent, at_left=True)
    axes.set_xlabel(f"free volume of the room, {units.label('volume', unit)}")
    axes.legend(loc="lower right", fontsize=8)
    return picture.svg(figure, title="Oxygen after the cylinder let go", describes=release_words(asked, found, reader))


def release_words(asked: Asked, found: Release, reader: Units) -> str:
    """What the picture shows."""
    best = max(one.percent for one in found.by)
    return (
        f"In {_volume(asked.room_m3, reader)}, {found.worst.percent:.1f} to {best:.1f}\u00a0% oxygen is left, by the "
        f"three formulas. From {_volume(found.worst.smallest_m3, reader)} on, a room keeps 19.5\u00a0% by the most "
        "cautious."
    )


def hours_words(hours: float) -> str:
    """A stretch of time: "40 minutes", "2.5 hours", "6 days"."""
    if hours < 1.5:
        minutes = max(1, round(60 * hours))
        return f"{minutes} minute{'' if minutes == 1 else 's'}"
    if hours < 48:
        return f"{f'{hours:.1f}'.removesuffix('.0')} hours"
    return f"{hours / 24:.0f} days" if hours < 24 * 365 else "over a year"


def leak_picture(found: Leak) -> SafeString:
    """Oxygen over the hours of a leak, room air drawn out."""
    figure = picture.new_figure(110, 60)
    axes = figure.add_subplot()
    axes.plot([hour for hour, _ in found.course], [percent for _, percent in found.course], color=picture.INK)
    axes.set_xlim(left=0)
    _oxygen_axes(axes, found.course[-1][1], at_left=found.course[-1][1] > gas.SHORT_OF_OXYGEN)
    axes.set_xlabel("hours of leaking")
    return picture.svg(figure, title="Oxygen while it leaks", describes=leak_words(found))


def leak_words(found: Leak) -> str:
    """What the picture shows."""
    down = f"Oxygen comes down to {found.lowest:.1f}\u00a0% by the time the cylinder is empty, after "
    words = f"{down}{hours_words(found.lasts_h)}"
    if found.short_after_h is None:
        return f"{words}, and stays at 19.5\u00a0% or above."
    words += f"; it is below 19.5\u00a0% after {hours_words(found.short_after_h)}"
    if found.leave_after_h is not None:
        words += f" and below 18\u00a0% after {hours_words(found.leave_after_h)}"
    return f"{words}."


def spill_picture(found: Vapour) -> SafeString:
    """Vapour over the hours after a spill, on a scale of tens, with a tenth of the LEL and the lowest limit."""
    figure = picture.new_figure(110, 60)
    axes = figure.add_subplot()
    ppm = [max(each, 0.1) for _, each in found.course]
    axes.plot([hour for hour, _ in found.course], ppm, color=picture.INK)
    axes.set_yscale("log")
    picture.line_across(axes, found.tenth_ppm, "a tenth of the lower explosive limit")
    long = [one.ppm for one in found.against if one.spilt is None]
    edges = [found.tenth_ppm, max(ppm), min(ppm)]
    if long:
        picture.line_across(axes, min(long), "lowest 8-hour limit", colour=picture.QUIET, dashes=(0, (4, 3)))
        edges.append(min(long))
    axes.set_ylim(max(1.0, min(edges) / 2), 2.5 * max(edges))
    ticks = [10.0**power for power in range(7) if max(1.0, min(edges) / 2) <= 10**power <= 2.5 * max(edges)]
    axes.set_yticks(ticks, [grouped(round(tick)) for tick in ticks])
    axes.minorticks_off()
    axes.set_xlim(0, found.course[-1][0])
    axes.set_xlabel("hours after the spill")
    axes.set_title("vapour in the room, ppm", loc="left", fontsize=9.5, color=picture.QUIET)
    return picture.svg(figure, title="Vapour after the spill", describes=spill_words(found))


def spill_words(found: Vapour) -> str:
    """What the picture shows."""
    start, end = (about_ppm(ppm) for _, ppm in (found.course[0], found.course[-1]))
    return (
        f"From {start} ppm right after all has evaporated to {end} ppm after {found.course[-1][0]:.0f} hours; a "
        f"tenth of the lower explosive limit is {grouped(round(found.tenth_ppm))} ppm."
    )


# Reports ------------------------------------------------------------------------------------------------------------


def reports_by_month(numbers: Numbers) -> SafeString:
    """Two bars a month: solid for what happened, hollow for what nearly did."""
    figure = picture.new_figure(110, 56)
    from matplotlib.ticker import MaxNLocator

    axes = figure.add_subplot()
    happened = {x: count for x, (_, count, _) in enumerate(numbers.by_month) if count}
    nearly = {x: count for x, (_, _, count) in enumerate(numbers.by_month) if count}
    axes.bar([x - 0.2 for x in happened], list(happened.values()), 0.36, color=picture.RUBY, label="happened")
    axes.bar(
        [x + 0.2 for x in nearly],
        list(nearly.values()),
        0.36,
        color=picture.SHEET,
        edgecolor=picture.INK,
        linewidth=1.2,
        label="nearly happened",
    )
    axes.set_xticks(range(len(numbers.by_month)), [f"{first:%b}" for first, _, _ in numbers.by_month])
    axes.set_xlim(-0.7, len(numbers.by_month) - 0.3)
    axes.set_ylim(0, max([*happened.values(), *nearly.values(), 3]) + 0.7)
    axes.yaxis.set_major_locator(MaxNLocator(integer=True))
    axes.grid(visible=False, axis="x")
    axes.legend(loc="upper left", ncols=2, fontsize=8.5)
    return picture.svg(figure, title="Reports by month", describes=reports_told(numbers))


def reports_told(numbers: Numbers) -> str:
    """What the picture shows, in words."""
    happened, nearly = numbers.happened, numbers.nearly
    if not happened and not nearly:
        return "Nothing was reported in the last twelve months."
    return (
        f"In the last twelve months {_times(happened)} something happened, and {_times(nearly)} it nearly did. Many "
        "near misses told of are no bad sign: they are what can be learned from before somebody is hurt."
    )


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")
