"""What sides cost the room in consumables, at the prices of their own lots."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from django.db.models import QuerySet

from shop.alongside import own_row
from shop.calc.cost import SideCost, cost_of_side
from shop.cutting.models import Booking, CostFigures, Outcome, Side
from shop.cutting.queries.styli import posterior_of, records

#: The most sides that are added up at once.
MOST_SIDES = 5000


@dataclass(frozen=True)
class CutCost:
    """What one cut took, in the room's currency. missing: what of it has no price, and so is not in the sum."""

    side: Side
    cost: SideCost
    missing: tuple[str, ...] = ()


@dataclass(frozen=True)
class Costs:
    """What some cuts took together. Rejected and test cuts are in the sum: each good side bears them."""

    cuts: list[CutCost] = field(default_factory=list)

    @cached_property
    def parts(self) -> dict[str, float]:
        """The sums by what they are of."""
        return {
            "blanks": sum(cut.cost.blanks for cut in self.cuts),
            "stylus": sum(cut.cost.stylus for cut in self.cuts),
            "gas": sum(cut.cost.gas for cut in self.cuts),
            "care": sum(cut.cost.care for cut in self.cuts),
        }

    @property
    def total(self) -> float:
        return sum(self.parts.values())

    @property
    def good(self) -> int:
        return sum(cut.side.outcome == Outcome.GOOD for cut in self.cuts)

    @property
    def others(self) -> int:
        """Cuts that came to nothing: rejected ones and tests."""
        return len(self.cuts) - self.good

    @property
    def each(self) -> float | None:
        """For each good side, with what was spent on the others on the way to it; None if there is none."""
        return self.total / self.good if self.good else None

    def lacking(self, what: str) -> int:
        """How many cuts have no price of that part."""
        return sum(what in cut.missing for cut in self.cuts)


def cost_figures() -> CostFigures:
    """What the room itself says that gas and care cost; nothing where nobody has said."""
    return own_row(CostFigures)


def costed_sides() -> QuerySet[Side]:
    """Sides that stand, with all that their cost rests on, latest first."""
    return (
        Side.objects.filter(withdrawal__isnull=True)
        .select_related(
            "lot__item", "life__stylus__kind", "life__stylus__lot", "life__relapped", "wanted__booking", "reject_reason"
        )
        .order_by("-at", "-id")
    )


def costs(sides: Iterable[Side], figures: CostFigures) -> Costs:
    """What those of `costed_sides` took: one query, for the lives that say how long an edge lasts."""
    cut = list(sides)
    kinds = {side.life.stylus.kind_id: side.life.stylus.kind for side in cut}
    kept = records(frozenset(kinds))
    lasts = {pk: posterior_of(kind, kept[pk]).mean for pk, kind in kinds.items()}
    return Costs([_cost(side, figures, lasts[side.life.stylus.kind_id]) for side in cut])


def _cost(side: Side, figures: CostFigures, edge_h: float) -> CutCost:
    edge = side.life.cost
    prices = {
        "blank": side.lot.unit_cost,
        "stylus": edge,
        "gas": figures.gas_side,
        "care": figures.care_hour,
    }
    cost = cost_of_side(
        cut_hours=side.cut_s / 3600,
        blank_price=float(prices["blank"] or 0),
        stylus_price=float(prices["stylus"] or 0),
        stylus_hours=edge_h,
        gas_m3=1.0,
        gas_price_per_m3=float(prices["gas"] or 0),
        care_per_cut_hour=float(prices["care"] or 0),
    )
    return CutCost(side, cost, tuple(name for name, price in prices.items() if price is None))


def costs_of(booking: Booking) -> Costs:
    """What a booking took: three queries."""
    return costs(costed_sides().filter(wanted__booking=booking), cost_figures())


@dataclass(frozen=True)
class Period:
    """What the sides of some days took, all together and by booking, the latest first. None stands for cuts without a
    booking; is_cut_off: there were more sides than are added up, and the earliest are left out."""

    all: Costs
    bookings: list[tuple[Booking | None, Costs]]
    is_cut_off: bool


def costs_between(start: datetime, end: datetime) -> Period:
    """Of the sides that ended from `start` on and before `end`: three queries."""
    found = list(costed_sides().filter(at__gte=start, at__lt=end)[: MOST_SIDES + 1])
    whole = costs(found[:MOST_SIDES], cost_figures())
    by_booking: dict[int | None, list[CutCost]] = {}
    named: dict[int | None, Booking | None] = {}
    for cut in whole.cuts:
        booking = cut.side.wanted.booking if cut.side.wanted else None
        key = booking.pk if booking else None
        named[key] = booking
        by_booking.setdefault(key, []).append(cut)
    return Period(
        whole, [(named[key], Costs(cuts)) for key, cuts in by_booking.items()], is_cut_off=len(found) > MOST_SIDES
    )
