"""Reading the room: its latest readings, its cylinders, what is left in them, how values went."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from django.db.models import Q, QuerySet, Subquery

from shop import clock
from shop.alongside import one_row, row_of
from shop.calc import air
from shop.concern import Grade
from shop.recall import recalled
from shop.room import since
from shop.room.contents import ASSUMED_C, GAS_C, Contents, contents, less_sides
from shop.room.models import Cylinder, GasUse, Limit, LimitKind, Reading, ReadingKind

#: How far apart a gauge and a thermometer may be read and still belong together: our own choice.
NEAR = timedelta(hours=12)


# Readings -------------------------------------------------------------------------------------------------------------


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
    """The last reading of each kind that has one, with who took it and its cylinder: one query, by index."""
    alive = readings() if before is None else readings().filter(at__lt=before)
    newest = alive.order_by("-at", "-id").values("pk")
    wanted = Q()
    for kind in kinds:
        wanted |= Q(pk=Subquery(newest.filter(kind=kind)[:1]))
    found = Reading.objects.filter(wanted).select_related("by", "cylinder").annotate(sides_since=since.counted())
    return {ReadingKind(reading.kind): reading for reading in found}


def reading_before(
    kind: ReadingKind, at: datetime, *, cylinder: Cylinder | None = None, leave_out: Reading | None = None
) -> Reading | None:
    """The last reading of a kind before a moment. cylinder: of that one only; leave_out: one being corrected."""
    earlier = readings().filter(kind=kind, at__lt=at)
    if cylinder is not None:
        earlier = earlier.filter(cylinder=cylinder)
    if leave_out is not None:
        earlier = earlier.exclude(pk=leave_out.pk)
    return earlier.order_by("-at", "-id").first()


def latest_after(at: datetime, *, kinds: Iterable[ReadingKind], cylinder: Cylinder | None = None) -> Reading | None:
    """The last reading of any of these kinds that was taken after a moment; of gauges, only those of that cylinder."""
    later = readings().filter(kind__in=list(kinds), at__gt=at)
    return later.filter(Q(cylinder=cylinder) | Q(cylinder=None)).order_by("-at", "-id").first()


def last_gauge(cylinder: Cylinder) -> Reading | None:
    """The last gauge reading of a cylinder, with the sides cut since."""
    own = readings().filter(kind=ReadingKind.NITROGEN_BAR, cylinder=cylinder).annotate(sides_since=since.counted())
    return own.order_by("-at", "-id").first()


@recalled
def celsius_near(at: datetime) -> float | None:
    """The room's temperature read nearest to a moment, within NEAR of it; None if there is none. One query."""
    around = readings().filter(kind=ReadingKind.ROOM_C, at__gte=at - NEAR, at__lte=at + NEAR)
    before = around.filter(at__lte=at).order_by("-at", "-id").values("pk")[:1]
    after = around.filter(at__gt=at).order_by("at", "-id").values("pk")[:1]
    close = Reading.objects.filter(Q(pk=Subquery(before)) | Q(pk=Subquery(after))).order_by("at", "id")
    nearest = min(close, key=lambda r: abs(r.at - at), default=None)
    return nearest.value if nearest else None


def celsius_beside(gauges: Sequence[Reading]) -> dict[int, float | None]:
    """For each of these readings the room's temperature read nearest to it, within NEAR: one query for all."""
    if not gauges:
        return {}
    first, last = min(r.at for r in gauges), max(r.at for r in gauges)
    warmths = list(
        readings()
        .filter(kind=ReadingKind.ROOM_C, at__gte=first - NEAR, at__lte=last + NEAR)
        .order_by("at", "id")
        .values_list("at", "value")
    )
    times = [at for at, _ in warmths]
    beside: dict[int, float | None] = {}
    for gauge in gauges:
        place = bisect_left(times, gauge.at)
        close = [w for w in warmths[max(0, place - 1) : place + 1] if abs(w[0] - gauge.at) <= NEAR]
        beside[gauge.pk] = min(close, key=lambda w: abs(w[0] - gauge.at))[1] if close else None
    return beside


def history(kind: ReadingKind) -> QuerySet[Reading]:
    """All readings of a kind, corrected ones too, last first, with what a table of them shows."""
    return (
        Reading.objects.filter(kind=kind)
        .select_related("by", "cylinder", "corrects", "corrected_by")
        .order_by("-at", "-id")
    )


def ledger() -> QuerySet[Reading]:
    """All readings of all kinds, corrected ones too, last first, with what a table of them shows."""
    return Reading.objects.select_related("by", "cylinder", "corrects", "corrected_by").order_by("-at", "-id")


class Point(NamedTuple):
    """One reading for a chart."""

    at: datetime
    value: float
    cylinder_id: int | None


def course(kind: ReadingKind, since: datetime, until: datetime) -> list[Point]:
    """The readings of a kind between two moments, for a chart, in order of time."""
    taken = readings().filter(kind=kind, at__gte=since, at__lte=until).order_by("at", "id")
    return [Point(*row) for row in taken.values_list("at", "value", "cylinder_id")]


# Air ------------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Air:
    """What temperature and humidity make together. read_at: the earlier of the two readings."""

    celsius: float
    rh: float
    dew_point_c: float
    absolute_g_m3: float
    read_at: datetime


def air_state(latest: dict[ReadingKind, Reading]) -> Air | None:
    """Dew point and water in the air; None where the two were not read near each other or the air holds none."""
    warm, damp = latest.get(ReadingKind.ROOM_C), latest.get(ReadingKind.ROOM_RH)
    if warm is None or damp is None or abs(warm.at - damp.at) > NEAR or damp.value <= 0:
        return None
    try:
        dew = air.dew_point_c(warm.value, damp.value)
        water = air.absolute_humidity_g_m3(warm.value, damp.value)
    except ValueError:  # a confirmed reading can lie outside the range of the formula
        return None
    return Air(celsius=warm.value, rh=damp.value, dew_point_c=dew, absolute_g_m3=water, read_at=min(warm.at, damp.at))


# Limits ---------------------------------------------------------------------------------------------------------------


@recalled
def limits() -> dict[LimitKind, Limit]:
    """The shop's limits that are set."""
    return {LimitKind(limit.kind): limit for limit in Limit.objects.all()}


def limit_of(kind: LimitKind) -> Limit:
    """The limits of one kind; unsaved and empty where none are set."""
    return Limit.objects.filter(kind=kind).first() or Limit(kind=kind, version=0)


def crossed(value: float, limit: Limit | None) -> tuple[Grade, str] | None:
    """The gravest limit that a stored value lies outside, as grade and field name; None while it is inside them all."""
    if limit is None:
        return None
    for grade, name in ((Grade.HOLD, "hold"), (Grade.CARE, "care")):
        low, high = getattr(limit, f"{name}_below"), getattr(limit, f"{name}_above")
        if low is not None and value < low:
            return grade, f"{name}_below"
        if high is not None and value > high:
            return grade, f"{name}_above"
    return None


# Gas ------------------------------------------------------------------------------------------------------------------


@recalled
def gas_use() -> GasUse:
    """The shop's figures for gas; those of the model where nobody has set them. No query beside that of the rack."""
    if here := _cylinders_here():
        return row_of(GasUse, here[0].use, version=0)
    return GasUse.objects.filter(pk=1).first() or GasUse(pk=1, version=0)


@dataclass(frozen=True)
class CylinderRack:
    """The cylinders that are in the house. spares: full, oldest delivery first, for those are used first."""

    connected: Cylinder | None
    spares: list[Cylinder]
    empties: list[Cylinder]


@recalled
def _cylinders_here() -> tuple[Any, ...]:
    """The cylinders in the house, each with the shop's figures for gas as `use`."""
    here = Cylinder.objects.filter(returned_on__isnull=True).annotate(use=one_row(GasUse))
    return tuple(here.order_by("delivered_on", "id"))


@recalled
def cylinder_rack() -> CylinderRack:
    """The cylinders that are in the house: one query."""
    here = _cylinders_here()
    return CylinderRack(
        connected=next((c for c in here if c.state == "connected"), None),
        spares=[c for c in here if c.state == "full"],
        empties=[c for c in here if c.state == "empty"],
    )


def connected_cylinder() -> Cylinder | None:
    """The cylinder that feeds the room now."""
    return cylinder_at(clock.now())


def cylinder_at(at: datetime) -> Cylinder | None:
    """The cylinder that fed the room at a moment."""
    then = Cylinder.objects.filter(connected_at__lte=at).filter(Q(empty_at__isnull=True) | Q(empty_at__gt=at))
    return then.order_by("-connected_at").first()


def returned_cylinders() -> QuerySet[Cylinder]:
    """The cylinders that went back, for a list of them."""
    return Cylinder.objects.filter(returned_on__isnull=False)


def gauges_of(cylinder: Cylinder) -> QuerySet[Reading]:
    """All gauge readings of a cylinder, corrected ones too, last first, with what a table of them shows."""
    return history(ReadingKind.NITROGEN_BAR).filter(cylinder=cylinder)


def gauge_course(cylinder: Cylinder) -> list[Point]:
    """The gauge readings of a cylinder that count, for a chart, in order of time."""
    taken = readings().filter(kind=ReadingKind.NITROGEN_BAR, cylinder=cylinder).order_by("at", "id")
    return [Point(*row) for row in taken.values_list("at", "value", "cylinder_id")]


@dataclass(frozen=True)
class LastKnown:
    """What is known of one cylinder.

    read_at: when the gauge was read; None where it never was: then it is taken to be as delivered, full. celsius: the
    gas's temperature then; is_assumed_c: no thermometer was read near the gauge. sides_since: those cut since, whose
    gas is no longer among what it `holds`.
    """

    gauge_bar: float
    celsius: float
    is_assumed_c: bool
    read_at: datetime | None
    sides_since: int
    holds: Contents


def last_known(
    cylinder: Cylinder, gauge: Point | None, use: GasUse, *, celsius: float | None = None, sides_since: int = 0
) -> LastKnown:
    """gauge: the last reading of it; celsius: the room's temperature read with it, if the caller has it already.

    sides_since: sides cut with this cylinder since; they count only where the gauge was read and a side takes gas.
    """
    if gauge is None or use.side_g <= 0:
        sides_since = 0
    if gauge is None:
        bar, warm, assumed = cylinder.fill_bar, cylinder.fill_c, False
    else:
        near = celsius_near(gauge.at) if celsius is None else celsius
        assumed = near is None or not GAS_C[0] <= near <= GAS_C[1]
        bar, warm = gauge.value, ASSUMED_C if near is None or assumed else near
    return LastKnown(
        gauge_bar=bar,
        celsius=warm,
        is_assumed_c=assumed,
        read_at=gauge.at if gauge else None,
        sides_since=sides_since,
        holds=less_sides(contents(cylinder, bar, warm, use), sides_since, use),
    )


@dataclass(frozen=True)
class GasState:
    """What the connected cylinder holds, and what stands ready behind it.

    read_at: when the gauge was read; None where it never was: then the cylinder is taken to be as delivered, full.
    is_of_today: whether that was today. celsius: the gas's temperature then; is_assumed_c: no thermometer was read near
    the gauge. sides_since: those cut since, whose gas is no longer in mass_kg, volume_m3, share, usable_g, sides_left.
    usable_g: above the reserve; sides_left: whole sides at the shop's grams a side, None where that figure
    is nought. spares: full ones, the next to use first. is_below_reserve, is_low: against the shop's figures in `use`.
    """

    cylinder: Cylinder
    gauge_bar: float
    celsius: float
    is_assumed_c: bool
    read_at: datetime | None
    is_of_today: bool
    sides_since: int
    mass_kg: float
    full_kg: float
    volume_m3: float
    share: float
    usable_g: float
    sides_left: int | None
    spares: list[Cylinder]
    use: GasUse

    @property
    def is_below_reserve(self) -> bool:
        return self.gauge_bar < self.use.reserve_bar

    @property
    def is_low(self) -> bool:
        return self.share < self.use.low_share


def gas_state(
    now: datetime,
    *,
    rack: CylinderRack | None = None,
    latest: dict[ReadingKind, Reading] | None = None,
    use: GasUse | None = None,
) -> GasState | None:
    """The state of the gas at `now`; None where no cylinder is connected.

    rack, latest, use: what the caller has read already, to spare a query each.
    """
    rack = rack or cylinder_rack()
    if rack.connected is None:
        return None
    known = latest_all() if latest is None else latest
    use = use or gas_use()
    gauge = _last_gauge(rack.connected, known)
    warm = known.get(ReadingKind.ROOM_C)
    last = last_known(
        rack.connected,
        Point(gauge.at, gauge.value, gauge.cylinder_id) if gauge else None,
        use,
        celsius=warm.value if warm is not None and gauge is not None and warm.at == gauge.at else None,
        sides_since=since.sides_since(gauge),
    )
    return GasState(
        cylinder=rack.connected,
        gauge_bar=last.gauge_bar,
        celsius=last.celsius,
        is_assumed_c=last.is_assumed_c,
        read_at=last.read_at,
        is_of_today=last.read_at is not None and clock.day_of(last.read_at) == clock.day_of(now),
        sides_since=last.sides_since,
        mass_kg=last.holds.mass_kg,
        full_kg=last.holds.full_kg,
        volume_m3=last.holds.volume_m3,
        share=last.holds.share,
        usable_g=last.holds.usable_g,
        sides_left=last.holds.sides_left,
        spares=rack.spares,
        use=use,
    )


def _last_gauge(cylinder: Cylinder, latest: dict[ReadingKind, Reading]) -> Reading | None:
    last = latest.get(ReadingKind.NITROGEN_BAR)
    if last is not None and last.cylinder_id == cylinder.pk:
        return last
    # The newest gauge reading is of another cylinder: this one has none, or one that was dated earlier.
    return last_gauge(cylinder)
