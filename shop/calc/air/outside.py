"""For how long a value lay outside a band, told by readings some time apart."""

from collections.abc import Iterable, Sequence
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


@dataclass(frozen=True)
class Piece:
    """Readings so near each other that nothing is unknown between them, all within the band or all beyond one edge of
    it; or one reading by itself. start, end: the first value and the last, at those hours; low, high: the least and
    the most of all."""

    start_h: float
    start: float
    end_h: float
    end: float
    low: float
    high: float

    @classmethod
    def of(cls, hour: float, value: float) -> "Piece":
        """One reading."""
        return cls(hour, value, hour, value, value, value)


def time_outside(
    points: Iterable[tuple[float, float]], low: float | None, high: float | None, *, longest_gap_h: float
) -> Outside:
    """How long a value lay below `low` or above `high` (None for no such edge), from (hour, value) in order of time.

    Between two readings the value is taken to go in a straight line; where they lie further apart than longest_gap_h
    nothing is known, and a spell ends. A single reading outside is a spell of no length. ValueError for hours that go
    back, edges the wrong way round, or a gap that is not above 0.
    """
    return time_outside_of_pieces(
        [Piece.of(hour, value) for hour, value in points], low, high, longest_gap_h=longest_gap_h
    )


def time_outside_of_pieces(
    pieces: Sequence[Piece], low: float | None, high: float | None, *, longest_gap_h: float
) -> Outside:
    """The same as time_outside of all the readings that the pieces stand for, to the last figure.

    ValueError besides for a piece that crosses an edge.
    """
    gap = number("longest_gap_h", longest_gap_h, above=0, at_most=1e6)
    if low is not None and high is not None and low > high:
        raise ValueError("low must not be above high.")
    edges = (-float("inf") if low is None else float(low), float("inf") if high is None else float(high))
    known = 0.0
    spells: list[Spell] = []
    before: Piece | None = None
    for piece in pieces:
        if piece.end_h < piece.start_h or (before is not None and piece.start_h < before.end_h):
            raise ValueError("points must be in order of time.")
        is_above, is_outside = piece.low > edges[1], piece.low > edges[1] or piece.high < edges[0]
        if not is_outside and (piece.low < edges[0] or piece.high > edges[1]):
            raise ValueError("pieces must not cross an edge.")
        near = before is not None and piece.start_h - before.end_h <= gap
        if before is not None and near:
            known += piece.start_h - before.end_h
            for spell in _between(before.end_h, before.end, piece.start_h, piece.start, edges):
                _add(spells, spell)
        known += piece.end_h - piece.start_h
        if is_outside and not (near and piece.start_h == piece.end_h):
            _add(spells, Spell(piece.start_h, piece.end_h, piece.high if is_above else piece.low, is_above), near=near)
        before = piece
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


def _add(spells: list[Spell], spell: Spell, *, near: bool = True) -> None:
    """Add a part, to the last spell where it goes on from that (near: and nothing unknown lies between)."""
    if near and spells and spells[-1].is_above == spell.is_above and spells[-1].end_h == spell.start_h:
        last = spells[-1]
        worst = max(last.worst, spell.worst) if spell.is_above else min(last.worst, spell.worst)
        spells[-1] = Spell(last.start_h, spell.end_h, worst, spell.is_above)
    else:
        spells.append(spell)
