"""The cylinders of the room and what is left in them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import DateTimeField, Q, QuerySet

from shop import clock
from shop.alongside import one_row, own_row, row_of
from shop.prepared import Given, prepared
from shop.recall import recalled
from shop.room import since
from shop.room.contents import ASSUMED_C, GAS_C, Contents, contents, less_sides
from shop.room.models import Cylinder, GasUse, Reading, ReadingKind
from shop.room.queries.readings import celsius_of, history, last_gauge, latest_all


@recalled
def gas_use() -> GasUse:
    """The shop's figures for gas; those of the model where nobody has set them. No query beside that of the rack."""
    if here := _cylinders_here():
        return row_of(GasUse, here[0].use, version=0)
    return own_row(GasUse, version=0)


@dataclass(frozen=True)
class CylinderRack:
    """The cylinders that are in the house. spares: full, oldest delivery first, for those are used first."""

    connected: Cylinder | None
    spares: list[Cylinder]
    empties: list[Cylinder]


@recalled
def _cylinders_here() -> tuple[Any, ...]:
    """The cylinders in the house, each with the shop's figures for gas as `use`."""
    return tuple(_here())


@prepared
def _here() -> QuerySet[Cylinder]:
    here = Cylinder.objects.filter(returned_on__isnull=True).annotate(use=one_row(GasUse))
    return here.order_by("delivered_on", "id")


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
    return _connected_at.first(at=at)


@prepared
def _connected_at() -> QuerySet[Cylinder]:
    at = Given("at", DateTimeField())
    then = Cylinder.objects.filter(connected_at__lte=at).filter(Q(empty_at__isnull=True) | Q(empty_at__gt=at))
    return then.order_by("-connected_at")[:1]


def returned_cylinders() -> QuerySet[Cylinder]:
    """The cylinders that went back, for a list of them."""
    return Cylinder.objects.filter(returned_on__isnull=False)


def gauges_of(cylinder: Cylinder) -> QuerySet[Reading]:
    """All gauge readings of a cylinder, corrected ones too, last first, with what a table of them shows."""
    return history(ReadingKind.NITROGEN_BAR).filter(cylinder=cylinder)


@dataclass(frozen=True)
class LastKnown:
    """What is known of one cylinder.

    read_at: when the gauge was read; None where it never was: then it is taken to be as delivered, full. celsius: the
    gas's temperature then; is_assumed_c: no thermometer was read with the gauge or near it. sides_since: those cut
    since, whose gas is no longer among what it `holds`.
    """

    gauge_bar: float
    celsius: float
    is_assumed_c: bool
    read_at: datetime | None
    sides_since: int
    holds: Contents


def last_known(
    cylinder: Cylinder, gauge: Reading | None, use: GasUse, *, celsius: float | None = None, sides_since: int = 0
) -> LastKnown:
    """gauge: the last reading of it; celsius: the room's temperature of that moment, if the caller has it already.

    sides_since: sides cut with this cylinder since; they count only where the gauge was read and a side takes gas.
    """
    if gauge is None or use.side_g <= 0:
        sides_since = 0
    if gauge is None:
        bar, warm, assumed = cylinder.fill_bar, cylinder.fill_c, False
    else:
        near = celsius_of(gauge) if celsius is None or gauge.beside_c is not None else celsius
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
        gauge,
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
