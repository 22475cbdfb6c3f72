"""Reorder point and quantity together, by named methods, with the cost of any pair.

Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed. 2019, chapter 5: stock and orders are watched all the
time, demand over the lead time is normal (or Poisson), and what is missing waits.
"""

import math
from typing import Literal, NamedTuple

from shop.calc.bounds import number
from shop.calc.demand.loss import MOST, normal_loss, poisson_loss, second_normal_loss
from shop.calc.demand.order import eoq, eoq_with_backorders

#: The approximations differ widely (from 127 to 214 on the book's own example): always say which.
RQMethod = Literal["loss_function", "eoq_safety_stock", "eoq_backorders", "expected_inventory"]
RQ_METHODS: tuple[RQMethod, ...] = ("loss_function", "eoq_safety_stock", "eoq_backorders", "expected_inventory")


class RQ(NamedTuple):
    """Order `quantity` when stock and orders fall to `reorder`; cost per period, purchase price left out."""

    reorder: float
    quantity: float
    cost: float


class _Problem(NamedTuple):
    k: float
    h: float
    p: float
    demand: float
    mean: float
    sd: float


def _problem(fixed: object, holding: object, waiting: object, demand: object, mean: object, sd: object) -> _Problem:
    return _Problem(
        number("fixed_cost", fixed, at_least=1e-6, at_most=1e9),
        number("holding_cost", holding, at_least=1e-6, at_most=1e9),
        number("waiting_cost", waiting, at_least=1e-6, at_most=1e9),
        number("demand", demand, at_least=1e-6, at_most=1e9),
        number("lead_mean", mean, at_least=0, at_most=1e9),
        number("lead_sd", sd, at_least=1e-3, at_most=1e9),
    )


def _cost(it: _Problem, reorder: float, quantity: float) -> float:
    """Exact for normal demand: fixed cost, and the holding and waiting cost averaged over positions r to r + Q."""
    waiting = second_normal_loss(reorder, it.mean, it.sd) - second_normal_loss(reorder + quantity, it.mean, it.sd)
    net = ((reorder + quantity - it.mean) ** 2 - (reorder - it.mean) ** 2) / 2
    return (it.k * it.demand + it.h * (net + waiting) + it.p * waiting) / quantity


def rq_cost(
    reorder: float,
    quantity: float,
    fixed_cost: float,
    holding_cost: float,
    waiting_cost: float,
    demand: float,
    lead_mean: float,
    lead_sd: float,
) -> float:
    """Expected cost per period of a reorder point and quantity; demand over the lead time normal."""
    it = _problem(fixed_cost, holding_cost, waiting_cost, demand, lead_mean, lead_sd)
    level = number("reorder", reorder, at_least=-MOST, at_most=MOST)
    return _cost(it, level, number("quantity", quantity, at_least=1e-6, at_most=MOST))


def rq_normal(
    fixed_cost: float,
    holding_cost: float,
    waiting_cost: float,
    demand: float,
    lead_mean: float,
    lead_sd: float,
    *,
    method: RQMethod = "loss_function",
) -> RQ:
    """Reorder point and quantity for normal demand over the lead time, by a named method.

    loss_function       n(r) = h Q/(h + p) and Q = sqrt(2 [K D + (h + p) n2(r)]/h), to and fro until both hold
    eoq_safety_stock    the economic quantity, and the stock for p/(h + p)
    eoq_backorders      the economic quantity with backorders, and the r that is best for it
    expected_inventory  Q = sqrt(2 D (K + p n(r))/h) and P(D > r) = Q h/(p D): waiting costed per piece, not per time
    """
    it = _problem(fixed_cost, holding_cost, waiting_cost, demand, lead_mean, lead_sd)
    if method == "loss_function":
        level, quantity = _loss_function(it)
    elif method == "eoq_safety_stock":
        from scipy.special import ndtri

        quantity = eoq(it.k, it.h, it.demand).quantity
        level = it.mean + float(ndtri(it.p / (it.p + it.h))) * it.sd
    elif method == "eoq_backorders":
        quantity = eoq_with_backorders(it.k, it.h, it.p, it.demand).quantity
        level = _best_level(it, quantity)
    elif method == "expected_inventory":
        level, quantity = _expected_inventory(it)
    else:
        raise ValueError(f"method must be one of {', '.join(RQ_METHODS)}, not {str(method)[:30]!r}.")
    return RQ(level, quantity, _cost(it, level, quantity))


def _best_level(it: _Problem, quantity: float) -> float:
    """The r for which holding and waiting cost as much at r as at r + Q."""
    from scipy.optimize import brentq

    def rate(position: float) -> float:
        loss = normal_loss(position, it.mean, it.sd)
        return it.h * loss.over + it.p * loss.short

    reach = 40 * it.sd + quantity
    return float(brentq(lambda r: rate(r) - rate(r + quantity), it.mean - reach, it.mean + reach, xtol=1e-11))


def _level_of_loss(it: _Problem, loss: float) -> float:
    """The r with so much expected short of it."""
    from scipy.optimize import brentq

    reach = 40 * it.sd + loss
    return float(brentq(lambda r: normal_loss(r, it.mean, it.sd).short - loss, it.mean - reach, it.mean + reach))


def _loss_function(it: _Problem) -> tuple[float, float]:
    quantity = eoq(it.k, it.h, it.demand).quantity
    level = it.mean
    for _ in range(500):
        level = _level_of_loss(it, it.h * quantity / (it.h + it.p))
        second = second_normal_loss(level, it.mean, it.sd)
        last, quantity = quantity, math.sqrt(2 * (it.k * it.demand + (it.h + it.p) * second) / it.h)
        if abs(quantity - last) < 1e-10 * quantity:
            break
    return level, quantity


def _expected_inventory(it: _Problem) -> tuple[float, float]:
    from scipy.special import ndtri

    quantity = eoq(it.k, it.h, it.demand).quantity
    level = it.mean
    for _ in range(500):
        risk = quantity * it.h / (it.p * it.demand)
        if risk >= 1:
            raise ValueError("waiting_cost must be high enough that an order is due before stock has run out.")
        level = it.mean - float(ndtri(risk)) * it.sd
        short = normal_loss(level, it.mean, it.sd).short
        last, quantity = quantity, math.sqrt(2 * it.demand * (it.k + it.p * short) / it.h)
        if abs(quantity - last) < 1e-10 * quantity:
            break
    return level, quantity


def rq_poisson(fixed_cost: float, holding_cost: float, waiting_cost: float, demand: float, lead_periods: float) -> RQ:
    """Best whole reorder point and quantity for Poisson demand (Federgruen and Zheng 1992).

    Positions are taken in from the cheapest outwards while the next costs less than the average so far.
    """
    it = _problem(fixed_cost, holding_cost, waiting_cost, demand, 0, 1)
    mean = number("lead_periods", lead_periods, at_least=0, at_most=1000) * it.demand
    number("demand", mean, at_most=1e5)

    def rate(position: int) -> float:
        if position < 0:
            return it.p * (mean - position)
        loss = poisson_loss(position, mean)
        return it.h * loss.over + it.p * loss.short

    low = high = min(range(int(mean + 20 * math.sqrt(mean + 1)) + 2), key=rate)
    spent, quantity = it.k * it.demand + rate(low), 1
    while True:
        below, above = rate(low - 1), rate(high + 1)
        if min(below, above) >= spent / quantity or quantity >= 1_000_000:
            return RQ(low - 1, quantity, spent / quantity)
        if below <= above:
            low -= 1
        else:
            high += 1
        spent += min(below, above)
        quantity += 1
