"""Loss functions: how much demand is expected beyond a stock, and how much stock beyond demand."""

import math
from typing import NamedTuple

from shop.calc.bounds import number, whole

MOST = 1e9


class Loss(NamedTuple):
    """short: expected demand beyond the stock; over: expected stock beyond demand."""

    short: float
    over: float


def _phi(z: float) -> float:
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def _above(z: float) -> float:
    """1 - Phi(z), right to the last digit far out."""
    return math.erfc(z / math.sqrt(2)) / 2


def unit_normal_loss(z: float) -> float:
    """G(z) = phi(z) - z (1 - Phi(z)): expected excess of a standard normal over z."""
    z = number("z", z, at_least=-1e6, at_most=1e6)
    return max(0.0, _phi(z) - z * _above(z))


def _mean_sd(mean: object, sd: object) -> tuple[float, float]:
    return number("mean", mean, at_least=0, at_most=MOST), number("sd", sd, at_least=1e-3, at_most=MOST)


def normal_loss(stock: float, mean: float, sd: float) -> Loss:
    """Loss of a stock against normal demand."""
    stock = number("stock", stock, at_least=-MOST, at_most=MOST)
    mean, sd = _mean_sd(mean, sd)
    z = (stock - mean) / sd
    return Loss(sd * unit_normal_loss(z), sd * unit_normal_loss(-z)) if abs(z) <= 1e6 else _far(stock, mean)


def _far(stock: float, mean: float) -> Loss:
    return Loss(max(0.0, mean - stock), max(0.0, stock - mean))


def second_normal_loss(stock: float, mean: float, sd: float) -> float:
    """Half the expected square of demand beyond the stock: sd^2/2 [(z^2 + 1)(1 - Phi(z)) - z phi(z)]."""
    stock = number("stock", stock, at_least=-MOST, at_most=MOST)
    mean, sd = _mean_sd(mean, sd)
    z = (stock - mean) / sd
    return max(0.0, sd * sd / 2 * ((z * z + 1) * _above(z) - z * _phi(z)))


def _poisson(stock: object, mean: object) -> tuple[int, float]:
    return whole("stock", stock, at_least=0, at_most=10_000_000), number("mean", mean, at_least=0, at_most=1e6)


def _at_most(count: int, mean: float) -> float:
    """P(Poisson <= count)."""
    from scipy.special import pdtr

    return float(pdtr(count, mean)) if count >= 0 else 0.0


def poisson_loss(stock: int, mean: float) -> Loss:
    """Loss of a whole stock against Poisson demand: short = m P(D >= S) - S P(D > S)."""
    stock, mean = _poisson(stock, mean)
    short = max(0.0, mean * (1 - _at_most(stock - 1, mean)) - stock * (1 - _at_most(stock, mean)))
    return Loss(short, max(0.0, short + stock - mean))


def poisson_fill_rate(stock: int, mean: float) -> float:
    """Share of demand met at once from a base stock S: P(D <= S - 1), D the demand over the lead time."""
    stock, mean = _poisson(stock, mean)
    return _at_most(stock - 1, mean)


def poisson_ready_rate(stock: int, mean: float) -> float:
    """Share of time without a backorder with a base stock S: P(D <= S). Not the fill rate."""
    stock, mean = _poisson(stock, mean)
    return _at_most(stock, mean)
