"""What a side costs the room, and what stock is worth, in whatever currency the prices are given in."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from shop.calc.bounds import number, whole

_MOST_MONEY = 1e9


@dataclass(frozen=True)
class SideCost:
    """Cost of one good side, with what is spent on the ones spoiled on the way to it."""

    blanks: float
    stylus: float
    gas: float
    care: float
    blanks_per_good_side: float

    @property
    def total(self) -> float:
        return self.blanks + self.stylus + self.gas + self.care


def _price(name: str, value: object) -> float:
    return number(name, value, at_least=0, at_most=_MOST_MONEY)


def cost_of_side(
    *,
    cut_hours: float,
    blank_price: float,
    spoiled_share: float = 0.0,
    spoiled_part: float = 1.0,
    stylus_price: float = 0.0,
    stylus_hours: float = 1.0,
    gas_m3: float = 0.0,
    gas_price_per_m3: float = 0.0,
    care_per_cut_hour: float = 0.0,
) -> SideCost:
    """Cost of one good side of `cut_hours` of cutting.

    spoiled_share is the share of blanks begun that end spoiled (0 to below 1), so 1/(1 - share) are begun for each good
    side; a spoiled one is taken to use spoiled_part of a whole cut's hours and gas. stylus_hours is the mean life of an
    edge, gas_m3 the nitrogen of one whole cut at the volume the price is for, care_per_cut_hour what cleaning, oil and
    filters come to. Plain proportions, our own.
    """
    hours = number("cut_hours", cut_hours, above=0, at_most=24)
    spoiled = number("spoiled_share", spoiled_share, at_least=0, at_most=0.99)
    part = number("spoiled_part", spoiled_part, at_least=0, at_most=1)
    life = number("stylus_hours", stylus_hours, at_least=0.001, at_most=1e6)
    gas = number("gas_m3", gas_m3, at_least=0, at_most=1e6)
    begun = 1 / (1 - spoiled)
    cuts = 1 + (begun - 1) * part
    return SideCost(
        blanks=begun * _price("blank_price", blank_price),
        stylus=cuts * hours / life * _price("stylus_price", stylus_price),
        gas=cuts * gas * _price("gas_price_per_m3", gas_price_per_m3),
        care=cuts * hours * _price("care_per_cut_hour", care_per_cut_hour),
        blanks_per_good_side=begun,
    )


@dataclass(frozen=True)
class Worth:
    """What quantities come to at their own lots' costs, exactly; and how many of them had a cost at all."""

    value: Decimal
    priced: int
    unpriced: int

    @property
    def mean_cost(self) -> Decimal | None:
        """Mean cost of one, over those with a cost; None if none had one."""
        return self.value / self.priced if self.priced else None

    @property
    def with_the_rest(self) -> Decimal | None:
        """The value if those without a cost were worth the mean of the others; None if none had one."""
        mean = self.mean_cost
        return None if mean is None else self.value + self.unpriced * mean


def worth(quantities: Iterable[tuple[int, Decimal | int | None]]) -> Worth:
    """What (quantity, cost of one) come to together, None being a cost not known.

    Stock: each lot's on hand and unit cost. A side or a booking: what was taken for it of each lot. Costs are Decimals
    or whole numbers, so that cents add up exactly.
    """
    value, priced, unpriced = Decimal(0), 0, 0
    for quantity, cost in quantities:
        count = whole("quantity", quantity, at_least=0, at_most=1_000_000_000)
        if cost is None:
            unpriced += count
            continue
        if isinstance(cost, bool) or not isinstance(cost, Decimal | int):
            raise ValueError(f"cost must be a Decimal or a whole number, not {str(cost)[:30]!r}.")
        _price("cost", cost)
        value, priced = value + count * Decimal(cost), priced + count
    return Worth(value, priced, unpriced)
