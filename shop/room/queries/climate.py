"""The air of the cutting room and of the blank store: how long it lay outside the shop's bands, and what was there."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from shop.calc.air import Outside, Piece, time_outside_of_pieces
from shop.room.models import Limit, LimitKind, ReadingKind
from shop.room.queries.course import courses as course_of_readings
from shop.room.queries.limits import limits
from shop.room.queries.outside import pieces
from shop.room.queries.readings import Point
from shop.stock.models import ItemKind, Lot, Movement

#: Between readings further apart nothing is said: over a weekend a room may do anything. Our own choice.
LONGEST_GAP = timedelta(hours=36)
#: Of that many spells, the latest ones, it is told what was in the store.
MOST_SPELLS = 20


@dataclass(frozen=True)
class AirPlace:
    """A place whose air is read."""

    key: str
    name: str
    celsius: ReadingKind
    humidity: ReadingKind


ROOM = AirPlace("room", "Cutting room", ReadingKind.ROOM_C, ReadingKind.ROOM_RH)
STORE = AirPlace("store", "Blank store", ReadingKind.STORE_C, ReadingKind.STORE_RH)
PLACES = (ROOM, STORE)


@dataclass(frozen=True)
class OutsideTime:
    """When a reading lay outside the shop's band. end: None while it still did at the last reading."""

    kind: ReadingKind
    start: datetime
    end: datetime
    worst: float
    is_above: bool
    is_going_on: bool

    @property
    def hours(self) -> float:
        return (self.end - self.start).total_seconds() / 3600


@dataclass(frozen=True)
class Course:
    """One kind over a stretch of time. low, high: the shop's band, where its care begins; outside: None without one."""

    kind: ReadingKind
    points: tuple[Point, ...]
    limit: Limit | None
    low: float | None
    high: float | None
    outside: Outside | None
    times: tuple[OutsideTime, ...]


def courses(kinds: Sequence[ReadingKind], since: datetime, until: datetime) -> dict[ReadingKind, Course]:
    """Each of these kinds from one moment to another, held against the shop's bands: five queries at most.

    The points are those of queries.courses. The time outside is exact, however many readings there are: of few it is
    told by themselves, of many by what queries.outside makes of them.
    """
    kept = limits()
    points = course_of_readings(kinds, since, until)
    bands = {kind: _band(kept.get(LimitKind(str(kind)))) for kind in kinds}
    many = {
        kind: band
        for kind, band in bands.items()
        if band != (None, None) and any(point.many > 1 for point in points[kind])
    }
    told = pieces(many, since, until, longest_gap=LONGEST_GAP)
    for kind in bands.keys() - many.keys():
        told[kind] = [Piece.of((point.at - since).total_seconds() / 3600, point.value) for point in points[kind]]
    return {
        kind: _course(kind, points[kind], told[kind], since, kept.get(LimitKind(str(kind))), bands[kind])
        for kind in kinds
    }


def _course(
    kind: ReadingKind,
    points: list[Point],
    told: list[Piece],
    since: datetime,
    limit: Limit | None,
    band: tuple[float | None, float | None],
) -> Course:
    low, high = band
    if not told or band == (None, None):
        return Course(kind, tuple(points), limit, low, high, None, ())

    def moment(hours: float) -> datetime:
        return since + timedelta(hours=hours)

    outside = time_outside_of_pieces(told, low, high, longest_gap_h=LONGEST_GAP / timedelta(hours=1))
    last = moment(told[-1].end_h)
    times = tuple(
        OutsideTime(
            kind,
            moment(spell.start_h),
            moment(spell.end_h),
            spell.worst,
            spell.is_above,
            abs(moment(spell.end_h) - last) < timedelta(seconds=1),
        )
        for spell in outside.spells
    )
    return Course(kind, tuple(points), limit, low, high, outside, times)


def _band(limit: Limit | None) -> tuple[float | None, float | None]:
    """Where care begins, or hold where no care is set, below and above."""
    if limit is None:
        return None, None
    low = limit.care_below if limit.care_below is not None else limit.hold_below
    high = limit.care_above if limit.care_above is not None else limit.hold_above
    return low, high


@dataclass(frozen=True)
class LotThen:
    """A lot of blanks with how many of it were there, at most, within some time."""

    lot: Lot
    held: int


def lots_then(times: Sequence[OutsideTime]) -> list[list[LotThen]]:
    """For each of these times, which lots of blanks were on hand at some moment of it, oldest first: two queries.

    By the ledger, that is by when things happened, as far as it is written down now.
    """
    if not times:
        return []
    first = min(time.start for time in times)
    moves: dict[int, list[tuple[datetime, int]]] = defaultdict(list)
    later = Movement.objects.filter(item__kind=ItemKind.BLANK, at__gte=first).order_by("at", "id")
    for lot_id, at, change in later.values_list("lot_id", "at", "change"):
        moves[lot_id].append((at, change))
    here = Lot.objects.filter(item__kind=ItemKind.BLANK).select_related("item").order_by("received_on", "id")
    lots = list(here.filter(on_hand__gt=0) | here.filter(pk__in=list(moves)))
    found = []
    for time in times:
        there = []
        for lot in lots:
            held = _most_held(lot.on_hand, moves[lot.pk], time)
            if held > 0:
                there.append(LotThen(lot, held))
        found.append(there)
    return found


def _most_held(on_hand: int, moves: Sequence[tuple[datetime, int]], time: OutsideTime) -> int:
    """The most of a lot that was there within a time, from what there is now and what moved since."""
    balance = on_hand - sum(change for at, change in moves if at > time.start)
    most = balance
    for at, change in moves:
        if time.start < at <= time.end:
            balance += change
            most = max(most, balance)
    return most
