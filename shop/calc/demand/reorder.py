"""When to order: reorder points by named methods, which differ widely and must never be mixed up."""

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from shop.calc.bounds import chance, number
from shop.calc.demand.loss import MOST, unit_normal_loss

#: "cycle_normal": chance of no shortage in an order cycle, normal demand; "fill_normal": share of demand met at once,
#: normal demand, orders of `quantity`; "cycle_poisson": as the first, whole Poisson demand (its sd is not used).
Method = Literal["cycle_normal", "fill_normal", "cycle_poisson"]
METHODS: tuple[Method, ...] = ("cycle_normal", "fill_normal", "cycle_poisson")


class LeadTimeDemand(NamedTuple):
    mean: float
    sd: float


def lead_time_demand(
    per_period: float, sd_per_period: float, lead_periods: float, sd_lead: float = 0.0
) -> LeadTimeDemand:
    """Demand over a lead time, either or both unsure: sd^2 = L sd_d^2 + d^2 sd_L^2, all of them independent."""
    demand = number("per_period", per_period, at_least=0, at_most=MOST)
    sd = number("sd_per_period", sd_per_period, at_least=0, at_most=MOST)
    lead = number("lead_periods", lead_periods, at_least=0, at_most=10_000)
    spread = number("sd_lead", sd_lead, at_least=0, at_most=10_000)
    return LeadTimeDemand(demand * lead, math.sqrt(lead * sd * sd + demand * demand * spread * spread))


@dataclass(frozen=True)
class ReorderPoint:
    """Order when what is on hand and on order falls to `level`; `safety` of it is above the mean. z: 0 for Poisson."""

    level: float
    safety: float
    z: float
    method: Method


def reorder_point(
    mean: float, sd: float, service: float, *, method: Method = "cycle_normal", quantity: float | None = None
) -> ReorderPoint:
    """Reorder point for demand over the lead time of that mean and sd, and a service level in (0, 1).

    "fill_normal" needs `quantity` and solves 1 - sd G(z)/quantity = service.
    """
    if method not in METHODS:
        raise ValueError(f"method must be one of {', '.join(METHODS)}, not {str(method)[:30]!r}.")
    mean = number("mean", mean, at_least=0, at_most=MOST)
    sd = number("sd", sd, at_least=0, at_most=MOST)
    service = chance("service", service)
    if method == "cycle_poisson":
        level = _poisson_quantile(number("mean", mean, at_most=1e6), service)
        return ReorderPoint(level, level - mean, 0.0, method)
    if method == "cycle_normal":
        from scipy.special import ndtri

        z = float(ndtri(service))
    else:
        if quantity is None:
            raise ValueError("quantity must be given for the method fill_normal, above 0.")
        ordered = number("quantity", quantity, above=0, at_most=MOST)
        z = _z_of_loss((1 - service) * ordered / sd) if sd > 0 else 0.0
    return ReorderPoint(mean + z * sd, z * sd, z, method)


def _z_of_loss(loss: float) -> float:
    """The z whose unit normal loss this is; the loss falls with z."""
    from scipy.optimize import brentq

    if loss >= 1e5:
        return -min(loss, 1e6)
    if loss <= unit_normal_loss(37):
        return 37.0
    return float(brentq(lambda z: unit_normal_loss(z) - loss, -loss - 1, 37, xtol=1e-13))


def _poisson_quantile(mean: float, service: float) -> float:
    from scipy.special import pdtr

    low, high = -1, max(1, math.ceil(mean))
    while float(pdtr(high, mean)) < service:
        low, high = high, high * 2 + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if float(pdtr(middle, mean)) >= service else (middle, high)
    return float(high)
