"""For how long a value lay outside a band, told by readings some time apart."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.calc.bounds import number


@dataclass(frozen=True)
class Spell:
    """A time outside the band without a break, in the readings' own hours. worst: the value furthest out; is_above."""

    start_h: float
    end_h: float
    worst: float
    is_above: bool

    @property
    def hours(self) -> float:
        return self.end_h - self.start_h


@dataclass(frozen=True)
class Outside:
    """known_h: between readings near enough; below_h, above_h: of that, outside the band; spells: in order of time."""

    known_h: float
    below_h: float
    above_h: float
    spells: tuple[Spell, ...]


def time_outside(
    points: Sequence[tuple[float, float]], low: float | None, high: float | None, *, longest_gap_h: float
) -> Outside:
    """How long a value lay below `low` or above `high` (None for no such edge), from (hour, value) in order of time.

    Between two readings the value is taken to go in a straight line; where they lie further apart than longest_gap_h
    nothing is known, and a spell ends. A single reading outside is a spell of no length. ValueError for hours that go
    back, edges the wrong way round, or a gap that is not above 0.
    """
    gap = number("longest_gap_h", longest_gap_h, above=0, at_most=1e6)
    if low is not None and high is not None and low > high:
        raise ValueError("low must not be above high.")
    edges = (-float("inf") if low is None else float(low), float("inf") if high is None else float(high))
    known = 0.0
    spells: list[Spell] = []
    for place, (hour, value) in enumerate(points):
        if place and hour < points[place - 1][0]:
            raise ValueError("points must be in order of time.")
        near = bool(place) and hour - points[place - 1][0] <= gap
        if near:
            before_h, before = points[place - 1]
            known += hour - before_h
            for spell in _between(before_h, before, hour, value, edges):
                _add(spells, spell)
        elif not edges[0] <= value <= edges[1]:
            spells.append(Spell(hour, hour, value, value > edges[1]))
    return Outside(
        known_h=known,
        below_h=sum(spell.hours for spell in spells if not spell.is_above),
        above_h=sum(spell.hours for spell in spells if spell.is_above),
        spells=tuple(spells),
    )


def _between(from_h: float, start: float, to_h: float, end: float, edges: tuple[float, float]) -> list[Spell]:
    """The parts of a straight line that lie outside the edges, in order of time."""

    def crossing(edge: float) -> float:
        return from_h + (to_h - from_h) * (edge - start) / (end - start)

    found = []
    for edge, is_above in ((edges[0], False), (edges[1], True)):
        out_first, out_last = ((each > edge) if is_above else (each < edge) for each in (start, end))
        if not (out_first or out_last):
            continue
        begins = from_h if out_first else crossing(edge)
        ends = to_h if out_last else crossing(edge)
        worst = max(start, end) if is_above else min(start, end)
        found.append(Spell(begins, ends, worst, is_above))
    return sorted(found, key=lambda spell: spell.start_h)


def _add(spells: list[Spell], spell: Spell) -> None:
    """Add a part, to the last spell where it goes on from that."""
    if spells and spells[-1].is_above == spell.is_above and spells[-1].end_h == spell.start_h:
        last = spells[-1]
        worst = max(last.worst, spell.worst) if spell.is_above else min(last.worst, spell.worst)
        spells[-1] = Spell(last.start_h, spell.end_h, worst, spell.is_above)
    else:
        spells.append(spell)
