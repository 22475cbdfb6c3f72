"""A value against the shop's limits, as a band to be drawn."""

from dataclasses import dataclass

from shop.room.kinds import Kind
from shop.room.models import LIMIT_ORDER, Limit


@dataclass(frozen=True)
class Zone:
    """A stretch of the band, 0 to 100 wide in all. grade: "hold", "care" or "within"."""

    start: float
    width: float
    grade: str


@dataclass(frozen=True)
class Band:
    """zones from low to high; mark: where the value stands, 0 to 100, None where there is none."""

    zones: list[Zone]
    mark: float | None


def band(about: Kind, limit: Limit | None, value: float | None) -> Band | None:
    """The band of one kind; None where the shop set no limit."""
    set_ones = [edge for name in LIMIT_ORDER if limit and (edge := getattr(limit, name)) is not None]
    if limit is None or not set_ones:
        return None
    low, high = min(set_ones), max(set_ones)
    room = max((high - low) / 3, (about.plausible[1] - about.plausible[0]) / 12)
    points = [low - room, high + room] + ([value] if value is not None else [])
    start, end = max(about.possible[0], min(points)), min(about.possible[1], max(points))
    if value is not None:  # never on the very edge
        start, end = min(start, value - room / 3), max(end, value + room / 3)

    def place(edge: float | None, otherwise: float) -> float:
        return otherwise if edge is None else 100 * (min(max(edge, start), end) - start) / (end - start)

    hold_low, hold_high = place(limit.hold_below, 0.0), place(limit.hold_above, 100.0)
    care_low, care_high = place(limit.care_below, hold_low), place(limit.care_above, hold_high)
    edges = [0.0, hold_low, care_low, care_high, hold_high, 100.0]
    grades = ["hold", "care", "within", "care", "hold"]
    zones = [
        Zone(start=round(a, 2), width=round(b - a, 2), grade=grade)
        for a, b, grade in zip(edges, edges[1:], grades, strict=False)
        if b - a > 0.01
    ]
    return Band(zones=zones, mark=None if value is None else round(place(value, 0.0), 2))
