"""How much to order: economic quantities, and one-period stocks under unsure demand.

Formulas as in Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed. 2019, chapters 3 and 4. Costs are in any
one currency; demand, holding and time in the same period.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from shop.calc.bounds import number, numbers
from shop.calc.demand.loss import MOST, Loss, normal_loss, poisson_loss

_COST = 1e12


def _positive(name: str, value: object) -> float:
    return number(name, value, at_least=1e-9, at_most=_COST)


class OrderQuantity(NamedTuple):
    """An order quantity, its cost per period, and the share of demand that waits."""

    quantity: float
    cost: float
    waiting_share: float = 0.0


def eoq(fixed_cost: float, holding_cost: float, demand: float) -> OrderQuantity:
    """Economic order quantity sqrt(2 K D/h) and its cost per period, purchase price left out."""
    k, h, d = _positive("fixed_cost", fixed_cost), _positive("holding_cost", holding_cost), _positive("demand", demand)
    return OrderQuantity(math.sqrt(2 * k * d / h), math.sqrt(2 * k * d * h))


def eoq_with_backorders(fixed_cost: float, holding_cost: float, waiting_cost: float, demand: float) -> OrderQuantity:
    """The same where demand may wait, at waiting_cost per piece and period."""
    k, h, d = _positive("fixed_cost", fixed_cost), _positive("holding_cost", holding_cost), _positive("demand", demand)
    p = _positive("waiting_cost", waiting_cost)
    return OrderQuantity(math.sqrt(2 * k * d * (h + p) / (h * p)), math.sqrt(2 * k * d * h * p / (h + p)), h / (h + p))


class BreakQuantity(NamedTuple):
    """An order quantity under price breaks: which break (0 the first), and the cost per period, price included."""

    quantity: float
    region: int
    cost: float


def eoq_with_discounts(
    fixed_cost: float, holding_rate: float, demand: float, breaks: Sequence[float], prices: Sequence[float]
) -> BreakQuantity:
    """Best quantity when a price holds for the whole order from its break on.

    breaks rise from 0, one for each price; holding costs holding_rate times the price, per piece and period.
    """
    k, d = _positive("fixed_cost", fixed_cost), _positive("demand", demand)
    rate = _positive("holding_rate", holding_rate)
    starts = numbers("breaks", breaks, fewest=1, most=100, at_least=0, at_most=MOST)
    units = numbers("prices", prices, fewest=1, most=100, at_least=1e-9, at_most=MOST)
    if len(starts) != len(units):
        raise ValueError(f"prices must have as many values as breaks, {len(starts)}, not {len(units)}.")
    if starts[0] != 0 or sorted(set(starts)) != starts:
        raise ValueError("breaks must begin at 0 and rise.")
    ends = [*starts[1:], math.inf]
    possible = []
    for region, (start, end, unit) in enumerate(zip(starts, ends, units, strict=True)):
        wanted = math.sqrt(2 * k * d / (rate * unit))
        if wanted < end:  # else one would order more at that price, and so pay the next
            quantity = max(wanted, start)
            possible.append(BreakQuantity(quantity, region, unit * d + k * d / quantity + rate * unit * quantity / 2))
    return min(possible, key=lambda choice: choice.cost)


@dataclass(frozen=True)
class OrderUpTo:
    """What to have at the start, its expected cost, and what is expected short and over."""

    stock: float
    cost: float
    short: float
    over: float


def _ratio(over_cost: object, short_cost: object) -> tuple[float, float, float]:
    h, p = _positive("over_cost", over_cost), _positive("short_cost", short_cost)
    return h, p, p / (h + p)


def _up_to(stock: float, loss: Loss, over_cost: float, short_cost: float) -> OrderUpTo:
    return OrderUpTo(stock, over_cost * loss.over + short_cost * loss.short, loss.short, loss.over)


def newsvendor(over_cost: float, short_cost: float, mean: float, sd: float, stock: float | None = None) -> OrderUpTo:
    """Best stock for one period of normal demand, mean + z sd with Phi(z) = p/(h + p); or the cost of a given one.

    over_cost is lost on each piece left, short_cost on each one missing. A price r, cost c and salvage value v make
    them c - v and r - c.
    """
    from scipy.special import ndtri

    h, p, ratio = _ratio(over_cost, short_cost)
    mean, sd = number("mean", mean, at_least=0, at_most=MOST), number("sd", sd, at_least=1e-3, at_most=MOST)
    level = mean + float(ndtri(ratio)) * sd if stock is None else number("stock", stock, at_least=0, at_most=MOST)
    return _up_to(level, normal_loss(level, mean, sd), h, p)


def newsvendor_poisson(over_cost: float, short_cost: float, mean: float) -> OrderUpTo:
    """Best whole stock for one period of Poisson demand: the least S with P(D <= S) >= p/(h + p)."""
    from shop.calc.demand.reorder import reorder_point

    h, p, ratio = _ratio(over_cost, short_cost)
    level = int(reorder_point(mean, 0, min(ratio, 1 - 1e-12), method="cycle_poisson").level)
    return _up_to(level, poisson_loss(level, mean), h, p)


def newsvendor_discrete(over_cost: float, short_cost: float, chances: Mapping[float, float]) -> OrderUpTo:
    """Best stock for one period of demand given as {amount: chance}, the chances adding up to 1."""
    h, p, ratio = _ratio(over_cost, short_cost)
    amounts = numbers("chances", chances, fewest=1, most=10_000, at_least=0, at_most=MOST)
    shares = numbers("chances", chances.values(), at_least=0, at_most=1)
    if abs(math.fsum(shares) - 1) > 1e-6:
        raise ValueError(f"chances must add up to 1, not {math.fsum(shares):.10g}.")
    pairs = sorted(zip(amounts, shares, strict=True))
    reached, level = 0.0, pairs[-1][0]
    for amount, share in pairs:
        reached += share
        if reached >= ratio - 1e-12:
            level = amount
            break
    short = math.fsum(share * max(0.0, amount - level) for amount, share in pairs)
    over = math.fsum(share * max(0.0, level - amount) for amount, share in pairs)
    return _up_to(level, Loss(short, over), h, p)


def base_stock(
    over_cost: float, short_cost: float, mean_per_period: float, sd_per_period: float, lead_periods: float = 0.0
) -> OrderUpTo:
    """Order-up-to level reviewed each period: the one-period stock for demand over lead time and one period more."""
    lead = number("lead_periods", lead_periods, at_least=0, at_most=1000) + 1
    mean = number("mean_per_period", mean_per_period, at_least=0, at_most=1e6)
    sd = number("sd_per_period", sd_per_period, at_least=1e-3, at_most=1e6)
    return newsvendor(over_cost, short_cost, mean * lead, sd * math.sqrt(lead))
