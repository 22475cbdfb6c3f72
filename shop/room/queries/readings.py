"""The room's readings: the latest of each kind, those near a moment, their course."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from functools import cache
from typing import Any, NamedTuple

from django.db.models import CharField, DateTimeField, IntegerField, OuterRef, Q, QuerySet, Subquery

from shop.prepared import Given, Prepared, prepared
from shop.recall import recalled
from shop.room import since
from shop.room.models import Cylinder, Reading, ReadingKind

#: How far apart a gauge and a thermometer may be read and still belong together: our own choice.
NEAR = timedelta(hours=12)
#: A key that no row has.
_NONE = 0


def readings() -> QuerySet[Reading]:
    """Every reading that was not corrected by a later one."""
    return Reading.objects.filter(corrected_by__isnull=True)


def latest(kind: ReadingKind, before: datetime | None = None) -> Reading | None:
    """The last reading of a kind, if there is one; before: taken earlier than that moment."""
    return latest_all(before, kinds=(kind,)).get(kind)


@recalled
def latest_all(
    before: datetime | None = None, *, kinds: tuple[ReadingKind, ...] = tuple(ReadingKind)
) -> dict[ReadingKind, Reading]:
    """The last reading of each kind that has one, with who or what took it and its cylinder: one query, by index."""
    found = _newest_of(kinds)() if before is None else _newest_of(kinds, is_before=True)(before=before)
    return {ReadingKind(reading.kind): reading for reading in found}


@cache
def _newest_of(kinds: tuple[ReadingKind, ...], *, is_before: bool = False) -> Prepared[Reading, Reading]:
    def question() -> QuerySet[Reading]:
        alive = readings().filter(at__lt=Given("before", DateTimeField())) if is_before else readings()
        newest = alive.order_by("-at", "-id").values("pk")
        wanted = Q()
        for kind in kinds:
            wanted |= Q(pk=Subquery(newest.filter(kind=kind)[:1]))
        found = Reading.objects.filter(wanted).select_related("by", "cylinder", "instrument")
        return found.annotate(sides_since=since.counted())

    return prepared(question)


def reading_before(
    kind: ReadingKind, at: datetime, *, cylinder: Cylinder | None = None, leave_out: Reading | None = None
) -> Reading | None:
    """The last reading of a kind before a moment. cylinder: of that one only; leave_out: one being corrected."""
    but = leave_out.pk if leave_out is not None else _NONE
    if cylinder is not None:
        return _last_before_of.first(kind=kind, at=at, cylinder=cylinder.pk, but=but)
    return _last_before.first(kind=kind, at=at, but=but)


def gauge_before(cylinder: Cylinder, at: datetime, *, leave_out: Reading | None = None) -> Reading | None:
    """The last reading of a cylinder's gauge before a moment, with the sides cut since it and since that moment."""
    but = leave_out.pk if leave_out is not None else _NONE
    return _gauge_before.first(kind=ReadingKind.NITROGEN_BAR, at=at, cylinder=cylinder.pk, but=but)


@prepared
def _gauge_before() -> QuerySet[Reading]:
    then = Given("at", DateTimeField())
    return _before_of().annotate(sides_since=since.counted(), then=then, sides_later=since.counted_after("then"))


@prepared
def _last_before() -> QuerySet[Reading]:
    earlier = readings().filter(kind=Given("kind", CharField()), at__lt=Given("at", DateTimeField()))
    return earlier.exclude(pk=Given("but", IntegerField())).order_by("-at", "-id")[:1]


@prepared
def _last_before_of() -> QuerySet[Reading]:
    return _before_of()


def _before_of() -> QuerySet[Reading]:
    own = readings().filter(cylinder=Given("cylinder", IntegerField()), kind=Given("kind", CharField()))
    earlier = own.filter(at__lt=Given("at", DateTimeField())).exclude(pk=Given("but", IntegerField()))
    return earlier.order_by("-at", "-id")[:1]


def latest_after(at: datetime, *, kinds: Iterable[ReadingKind], cylinder: Cylinder | None = None) -> Reading | None:
    """The last reading of any of these kinds that was taken after a moment; of gauges, only those of that cylinder."""
    later = readings().filter(kind__in=list(kinds), at__gt=at)
    return later.filter(Q(cylinder=cylinder) | Q(cylinder=None)).order_by("-at", "-id").first()


def gauge_after(cylinder: Cylinder, at: datetime, *, leave_out: Reading | None = None) -> Reading | None:
    """The first reading of a cylinder's gauge after a moment. leave_out: one being corrected."""
    return _gauge_after.first(cylinder=cylinder.pk, at=at, but=leave_out.pk if leave_out is not None else _NONE)


@prepared
def _gauge_after() -> QuerySet[Reading]:
    own = readings().filter(kind=ReadingKind.NITROGEN_BAR, cylinder=Given("cylinder", IntegerField()))
    later = own.filter(at__gt=Given("at", DateTimeField())).exclude(pk=Given("but", IntegerField()))
    return later.order_by("at", "-id")[:1]


def last_gauge(cylinder: Cylinder) -> Reading | None:
    """The last gauge reading of a cylinder, with the sides cut since."""
    own = readings().filter(kind=ReadingKind.NITROGEN_BAR, cylinder=cylinder).annotate(sides_since=since.counted())
    return own.order_by("-at", "-id").first()


@recalled
def celsius_near(at: datetime) -> float | None:
    """The room's temperature read nearest to a moment, within NEAR of it; None if there is none. One query."""
    return nearest_celsius(at, ((read.at, read.value) for read in _read_around(at=at)))


@prepared
def _read_around() -> QuerySet[Reading]:
    at = Given("at", DateTimeField())
    first = Given("at", DateTimeField(), lambda at: at - NEAR)
    last = Given("at", DateTimeField(), lambda at: at + NEAR)
    warm = readings().filter(kind=ReadingKind.ROOM_C)
    before = warm.filter(at__gte=first, at__lte=at).order_by("-at", "-id").values("pk")[:1]
    after = warm.filter(at__gt=at, at__lte=last).order_by("at", "-id").values("pk")[:1]
    return Reading.objects.filter(Q(pk=Subquery(before)) | Q(pk=Subquery(after))).order_by("at", "id")


def celsius_of(gauge: Reading) -> float | None:
    """The temperature of the gas when a gauge was read: read with it beside the cylinder, else near it in the room."""
    return celsius_near(gauge.at) if gauge.beside_c is None else gauge.beside_c


def celsius_beside(gauges: Sequence[Reading]) -> dict[int, float | None]:
    """`celsius_of` each of these gauge readings: one query, by index, however often the thermometer was read."""
    beside: dict[int, float | None] = {gauge.pk: gauge.beside_c for gauge in gauges if gauge.beside_c is not None}
    if len(beside) == len(gauges):
        return beside
    around = celsius_around()
    asked = Reading.objects.filter(pk__in=[gauge.pk for gauge in gauges if gauge.pk not in beside]).annotate(**around)
    for pk, at, *found in asked.values_list("pk", "at", *around):
        beside[pk] = nearest_celsius(at, (found[:2], found[2:]))
    return beside


def celsius_around() -> dict[str, Subquery]:
    """For a query of readings: when the room's temperature was read last by then and first after, with its values."""
    warm = readings().filter(kind=ReadingKind.ROOM_C)
    before = warm.filter(at__lte=OuterRef("at")).order_by("-at", "-id")
    after = warm.filter(at__gt=OuterRef("at")).order_by("at", "-id")
    return {
        "before_at": Subquery(before.values("at")[:1]),
        "before_c": Subquery(before.values("value")[:1]),
        "after_at": Subquery(after.values("at")[:1]),
        "after_c": Subquery(after.values("value")[:1]),
    }


def nearest_celsius(at: datetime, read: Iterable[Sequence[Any]]) -> float | None:
    """Of moments with the temperature then, the one nearest to `at` and within NEAR of it; None if there is none.

    A moment may be None, where nothing was read.
    """
    close = [(abs(then - at), celsius) for then, celsius in read if then is not None]
    near, celsius = min(close, key=lambda one: one[0], default=(NEAR * 2, None))
    return celsius if near <= NEAR else None


def history(kind: ReadingKind) -> QuerySet[Reading]:
    """All readings of a kind, corrected ones too, last first, with what a table of them shows."""
    return (
        Reading.objects.filter(kind=kind)
        .select_related("by", "cylinder", "instrument", "corrects", "corrected_by")
        .order_by("-at", "-id")
    )


def ledger() -> QuerySet[Reading]:
    """All readings of all kinds, corrected ones too, last first, with what a table of them shows."""
    return Reading.objects.select_related("by", "cylinder", "instrument", "corrects", "corrected_by").order_by(
        "-at", "-id"
    )


class Point(NamedTuple):
    """One reading for a chart; or several of a short time, of which value is the mean."""

    at: datetime
    value: float
    cylinder_id: int | None
    many: int = 1
    least: float | None = None
    most: float | None = None

    @property
    def low(self) -> float:
        return self.value if self.least is None else self.least

    @property
    def high(self) -> float:
        return self.value if self.most is None else self.most
