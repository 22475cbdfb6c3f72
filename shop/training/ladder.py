"""The picture of a programme: what comes before what, week by week, and which acts it leads to."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.safestring import SafeString

from shop import picture
from shop.calc import order
from shop.training.models import SIGNED, Programme
from shop.training.queries.programmes import Line, Outline

#: Millimetres: between two rows, and what is left for the names of weeks and acts.
_ROW = 8.5
_WIDTH = 105.0
#: Steps beside each other in one row; more go into a further one.
_BESIDE = 6


def ladder(programme: Programme, outline: Outline) -> SafeString:
    """Each step as its number, under those it needs, in bands for the weeks; what leads to an act as a full square."""
    rows = _rows(outline)
    figure = picture.new_figure(_WIDTH, 8 + _ROW * sum(len(of_week) for _, of_week in rows))
    axes = figure.add_subplot()
    places: dict[int | None, tuple[float, float]] = {}
    y = 0.0
    for name, of_week in rows:
        axes.axhline(y - 0.5, color=picture.RULE, linewidth=0.8)
        axes.annotate(name, (-0.16, y), ha="left", va="center", fontsize=8, color=picture.QUIET)
        for row in of_week:
            aside = 0.035 if y % 2 else -0.035  # lines that go past a row then seldom go through what stands in it
            for line, x in zip(row, _spread(row, places), strict=True):
                places[line.number] = (x + aside, y)
            y += 1
    for number, right_before in order.straight(outline.needs).items():
        x, below = places[number]
        for before in right_before:
            start, above = places[before]
            axes.plot([start, x], [above, below], color=picture.EDGE, linewidth=0.7, linestyle="-", zorder=1)
    for line in outline.lines:
        _mark(axes, line, *places[line.number])
    axes.set_xlim(-0.17, 1.06)
    axes.set_ylim(y - 0.4, -0.7)
    axes.axis("off")
    return picture.svg(figure, title=f"{programme.name}: what comes before what", describes=told(outline))


def told(outline: Outline) -> str:
    """What the picture shows, in words."""
    count = len(outline.lines)
    chain = 1 + max(order.levels(outline.needs).values(), default=-1)
    words = f"{count} step{'' if count == 1 else 's'}; the longest way has {chain} of them one after the other."
    for line in outline.ends:
        before = len(order.rests_on([line.number], outline.needs)) if line.number else 0
        words += f" “{line.step.act}” is reached by step {line.number}, which rests on {before} others."
    return words


def _mark(axes: Any, line: Line, x: float, y: float) -> None:
    leads = line.step.act is not None
    axes.plot(
        [x],
        [y],
        marker="s" if leads else "o",
        markersize=15 if leads else 14,
        linestyle="",
        markerfacecolor=picture.INK if leads else picture.SHEET,
        markeredgecolor=picture.INK,
        markeredgewidth=1.6 if line.step.kind in SIGNED else 0.6,
        zorder=2,
    )
    colour = picture.SHEET if leads else picture.INK
    axes.annotate(str(line.number), (x, y), ha="center", va="center_baseline", fontsize=8, color=colour, zorder=3)


def _rows(outline: Outline) -> list[tuple[str, list[list[Line]]]]:
    """For each week its name and its rows: under what it needs in the same week, at most so many beside each other."""
    found = []
    for week in outline.weeks:
        here = {line.number for line in week.lines}
        levels = order.levels(
            {line.number: [n for n in outline.needs[line.number or 0] if n in here] for line in week.lines}
        )
        rows: list[list[Line]] = []
        for level in range(1 + max(levels.values())):
            row = [line for line in week.lines if levels[line.number] == level]
            rows += [row[start : start + _BESIDE] for start in range(0, len(row), _BESIDE)]
        found.append((f"Week {week.number}" if week.number else "First", rows))
    return found


def _spread(row: Sequence[Line], places: Mapping[int | None, tuple[float, float]]) -> list[float]:
    """Where each of a row stands from 0 to 1: evenly apart, in the order of what they need above them."""
    wished = {}
    for line in row:
        above = [places[before.number][0] for before in line.needs if before.number in places]
        wished[line.number] = sum(above) / len(above) if above else 0.5
    ranked = sorted(row, key=lambda line: (wished[line.number], line.number))
    if len(row) == 1:
        return [min(0.92, max(0.08, wished[row[0].number]))]
    apart = {line.number: (place + 0.5) / len(row) for place, line in enumerate(ranked)}
    return [apart[line.number] for line in row]
