"""For how long the gas lasts: the pace told by past gauge readings, held against what is booked."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple

from shop import clock
from shop.calc import gas
from shop.calc.drift import Estimate
from shop.room import since
from shop.room.contents import contents
from shop.room.gauge import READ_WITHIN_BAR
from shop.room.models import Cylinder, GasForecast, GasUse, ReadingKind
from shop.room.queries.course import last_of_days
from shop.room.queries.gas import CylinderRack, GasState
from shop.room.queries.losses import HABIT, stood
from shop.room.queries.readings import celsius_beside, readings

#: So many of the last gauge readings tell the pace: some three months of mornings.
_LAST_READINGS = 60
#: A side's use learnt here is offered in place of the shop's own figure where they differ by more than this share.
WORTH_CHANGING = 0.1


class PaceNow(NamedTuple):
    """pace: what sides and days took lately, without what was lost; habit: what losses are told by; losses: how many of
    them lie in the readings."""

    pace: gas.GasPace
    habit: gas.GasHabit
    losses: int


def pace_now(use: GasUse) -> PaceNow:
    """The pace over all cylinders: two queries; three where an instrument reads the gauge.

    A loss is no use: where more went than is explained, the readings before it and after it tell the pace, each for
    themselves.
    """
    read = readings().filter(kind=ReadingKind.NITROGEN_BAR).select_related("cylinder")
    read = read.annotate(sides_since=since.counted()).order_by("-at", "-id")
    gauges = list(read[:_LAST_READINGS])
    if any(gauge.instrument_id is not None for gauge in gauges):
        gauges = list(read.filter(pk__in=last_of_days(ReadingKind.NITROGEN_BAR, _LAST_READINGS)))
    beside = celsius_beside(gauges)
    runs: dict[int, list[gas.Stood]] = defaultdict(list)
    for gauge in reversed(gauges):
        cylinder = gauge.cylinder
        assert cylinder is not None
        runs[cylinder.pk].append(
            stood(
                cylinder.water_volume_l,
                gauge.at,
                gauge.value,
                beside[gauge.pk],
                sides_since=since.sides_since(gauge),
            )
        )
    habit = gas.gas_habit(runs.values(), _pace(runs.values()).per_side, use.side_g)
    losses = {pk: gas.gas_losses(run, habit) for pk, run in runs.items()}
    pieces = [piece for pk, run in runs.items() for piece in gas.without_losses(run, losses[pk])]
    return PaceNow(_pace(pieces), habit, sum(map(len, losses.values())))


def _pace(runs: Iterable[Sequence[gas.Stood]]) -> gas.GasPace:
    return gas.gas_pace([gas.Gauged(each.day, each.sides, each.grams) for each in run] for run in runs)


@dataclass(frozen=True)
class GasOutlook:
    """For how long the connected cylinder lasts, and all that is here.

    pace: learnt from readings; stated_side_g: the shop's own figure, which counts where none is learnt. habit, losses:
    as `PaceNow`. one: the connected cylinder, whole: with the spares, above the reserve; None where there is nothing to
    reckon by. booked_*: the sides still to be cut, and through which day.
    """

    today: date
    pace: gas.GasPace
    habit: gas.GasHabit
    losses: int
    stated_side_g: float
    lead_days: int
    spares: int
    one: gas.GasLasts | None
    whole: gas.GasLasts | None
    booked_sides: int
    booked_until: date | None

    @property
    def change(self) -> "Days | None":
        """The days on which the connected cylinder is used up."""
        return _days(self.today, self.one)

    @property
    def all_gone(self) -> "Days | None":
        """The days on which all that is here is used up."""
        return _days(self.today, self.whole)

    @property
    def order_by(self) -> date | None:
        """The last day to order; it may be past. None where that is further off than is told."""
        if self.whole is None or self.whole.soonest is None:
            return None
        return self.today + timedelta(days=self.whole.soonest - self.lead_days)

    @property
    def side(self) -> Estimate | None:
        return self.pace.per_side

    @property
    def is_figure_off(self) -> bool:
        """Whether the shop's own figure for a side lies outside of what the gauge tells, by enough to matter."""
        side = self.pace.per_side
        if side is None or side.low <= self.stated_side_g <= side.high:
            return False
        return abs(self.stated_side_g - side.middle) > WORTH_CHANGING * side.middle


@dataclass(frozen=True)
class Days:
    """soonest: one time in twenty it is that early; latest: as late. None: further off than is told."""

    soonest: date | None
    likely: date | None
    latest: date | None
    by_bookings: bool


def _days(today: date, lasts: gas.GasLasts | None) -> Days | None:
    if lasts is None:
        return None

    def on(days: int | None) -> date | None:
        return None if days is None else today + timedelta(days=days)

    return Days(on(lasts.soonest), on(lasts.likely), on(lasts.latest), lasts.by_bookings)


def gas_outlook(state: GasState, rack: CylinderRack) -> GasOutlook:
    """The outlook from a state of the gas: three queries."""
    today, use = clock.today(), state.use
    pace, habit, losses = pace_now(use)
    booked = since.sides_booked(today)
    by_day = {(day - today).days: sides for day, sides in booked.items()}
    spare_g = sum(_usable_g(spare, use) for spare in rack.spares)
    side_g = pace.per_side.middle if pace.per_side is not None else use.side_g
    # what went since the gauge was read, at the learnt pace instead of the shop's figure
    usable = max(0.0, state.usable_g + state.sides_since * (use.side_g - side_g))

    def lasts(grams: float) -> gas.GasLasts | None:
        return gas.gas_lasts(
            grams,
            by_day,
            pace,
            stated_side_g=use.side_g,
            gauge_sd_g=_gauge_sd_g(state.cylinder, state.gauge_bar, state.celsius),
        )

    return GasOutlook(
        today=today,
        pace=pace,
        habit=habit,
        losses=losses,
        stated_side_g=use.side_g,
        lead_days=use.lead_days,
        spares=len(rack.spares),
        one=lasts(usable),
        whole=lasts(usable + spare_g),
        booked_sides=sum(booked.values()),
        booked_until=max(booked, default=None),
    )


def _usable_g(cylinder: Cylinder, use: GasUse) -> float:
    """What a full one holds above the reserve."""
    return contents(cylinder, cylinder.fill_bar, cylinder.fill_c, use).usable_g


def _gauge_sd_g(cylinder: Cylinder, gauge_bar: float, celsius: float) -> float:
    """What the eye before the dial may be off by, in grams of gas; half of READ_WITHIN_BAR is a standard deviation."""
    litres, near = cylinder.water_volume_l, gauge_bar + READ_WITHIN_BAR / 2
    return 1000 * abs(gas.nitrogen_mass_kg(litres, near, celsius) - gas.nitrogen_mass_kg(litres, gauge_bar, celsius))


def forecast_of(state: GasState, outlook: GasOutlook, now: datetime) -> GasForecast:
    """What of the outlook today's page needs, not saved."""
    change = outlook.change
    return GasForecast(
        pk=1,
        cylinder=state.cylinder,
        worked_at=now,
        change_soonest=change.soonest if change else None,
        change_likely=change.likely if change else None,
        order_by=outlook.order_by,
        spares=outlook.spares,
        **{name: getattr(outlook.habit, name) for name in HABIT},
    )
