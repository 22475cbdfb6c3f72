"""The air of the cutting room and of the blank store: how long it lay outside the shop's bands, and what was there."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from shop.calc.air.outside import Outside, time_outside
from shop.room.models import Limit, LimitKind, ReadingHour, ReadingKind
from shop.room.queries.limits import limits
from shop.room.queries.readings import Point, readings
from shop.stock.models import ItemKind, Lot, Movement

#: Between readings further apart nothing is said: over a weekend a room may do anything. Our own choice.
LONGEST_GAP = timedelta(hours=36)
#: Of that many spells, the latest ones, it is told what was in the store.
MOST_SPELLS = 20


#: More readings than that are told by the means of their hours.
_MOST_READINGS = 3000
#: A picture has at most so many points; more are told by means of neighbours.
_MOST_POINTS = 400


def thinned(points: Sequence[Point]) -> list[Point]:
    """So many points that a picture stays light: means of neighbours where there are more."""
    if len(points) <= _MOST_POINTS:
        return list(points)
    step = -(-len(points) // _MOST_POINTS)
    groups = [points[start : start + step] for start in range(0, len(points), step)]
    return [
        Point(group[len(group) // 2].at, sum(point.value for point in group) / len(group), None) for group in groups
    ]


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
    """Each of these kinds from one moment to another, held against the shop's bands: two queries.

    Where instruments sent more than _MOST_READINGS, by the means of hours.
    """
    kept = limits()
    taken: dict[ReadingKind, list[Point]] = defaultdict(list)
    rows = readings().filter(kind__in=list(kinds), at__gte=since, at__lte=until).order_by("at", "id")
    told = list(rows.values_list("kind", "at", "value")[: _MOST_READINGS + 1])
    if len(told) > _MOST_READINGS:
        hours = ReadingHour.objects.filter(kind__in=list(kinds), hour__gte=since, hour__lte=until, count__gt=0)
        told = [
            (kind, min(hour + timedelta(minutes=30), until), total / count)
            for kind, hour, total, count in hours.order_by("hour").values_list("kind", "hour", "total", "count")
        ]
    for kind, at, value in told:
        taken[ReadingKind(kind)].append(Point(at, value, None))
    return {kind: _course(kind, taken[kind], kept.get(LimitKind(str(kind)))) for kind in kinds}


def _course(kind: ReadingKind, points: list[Point], limit: Limit | None) -> Course:
    low, high = _band(limit)
    if not points or (low is None and high is None):
        return Course(kind, tuple(points), limit, low, high, None, ())
    start = points[0].at

    def moment(hours: float) -> datetime:
        return start + timedelta(hours=hours)

    told = time_outside(
        [((point.at - start).total_seconds() / 3600, point.value) for point in points],
        low,
        high,
        longest_gap_h=LONGEST_GAP.total_seconds() / 3600,
    )
    last = points[-1].at
    times = tuple(
        OutsideTime(
            kind,
            moment(spell.start_h),
            moment(spell.end_h),
            spell.worst,
            spell.is_above,
            abs(moment(spell.end_h) - last) < timedelta(seconds=1),
        )
        for spell in told.spells
    )
    return Course(kind, tuple(points), limit, low, high, told, times)


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
