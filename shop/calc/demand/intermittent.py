"""Forecasts for demand with empty weeks: Croston, SBA and TSB, to hold beside our own by back-test."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shop.calc.bounds import number, numbers, whole

_MOST = 1e6


@dataclass(frozen=True)
class Intermittent:
    """A forecast per period, with what it is made of.

    size is the smoothed size of a demand; interval (Croston, SBA) the smoothed periods between, 0 if there was none;
    probability (TSB) the smoothed chance of one. fits are what it would have said of each period from the second on.
    """

    forecast: float
    size: float
    interval: float
    probability: float
    fits: tuple[float, ...]


def _series(counts: Sequence[float], weight: object) -> tuple[list[float], float]:
    series = numbers("counts", counts, fewest=1, most=10_000, at_least=0, at_most=_MOST)
    return series, number("weight", weight, at_least=0.001, at_most=1)


def croston(counts: Sequence[float], weight: float = 0.1) -> Intermittent:
    """Croston's method: size over interval, both smoothed when there is demand (Croston 1972).

    counts per period, oldest first. Starts from the first size and the first interval, counted from before the series.
    Runs high by about weight/2.
    """
    return _croston(counts, weight, 1.0)


def sba(counts: Sequence[float], weight: float = 0.1) -> Intermittent:
    """Croston's forecast times 1 - weight/2, which takes most of its excess away (Syntetos and Boylan 2005)."""
    checked = number("weight", weight, at_least=0.001, at_most=1)
    return _croston(counts, checked, 1 - checked / 2)


def _croston(counts: Sequence[float], weight: object, factor: float) -> Intermittent:
    series, w = _series(counts, weight)
    size = interval = 0.0
    since = 0
    fits = []
    for count in series:
        fits.append(factor * size / interval if interval else 0.0)
        since += 1
        if count > 0:
            size = w * count + (1 - w) * size if interval else count
            interval = w * since + (1 - w) * interval if interval else float(since)
            since = 0
    return Intermittent(factor * size / interval if interval else 0.0, size, interval, 0.0, tuple(fits[1:]))


def tsb(counts: Sequence[float], size_weight: float = 0.1, probability_weight: float = 0.1) -> Intermittent:
    """Teunter, Syntetos and Babai 2011: chance of demand, smoothed every period, times its size.

    Unlike Croston's it falls while nothing is asked for. The chance starts at the first period's own, 0 or 1.
    """
    series, w = _series(counts, size_weight)
    v = number("probability_weight", probability_weight, at_least=0.001, at_most=1)
    size = 0.0
    probability = float(series[0] > 0)
    fits = []
    for place, count in enumerate(series):
        fits.append(probability * size)
        if place:
            probability = v * (count > 0) + (1 - v) * probability
        if count > 0:
            size = w * count + (1 - w) * size if size else count
    return Intermittent(probability * size, size, 0.0, probability, tuple(fits[1:]))


@dataclass(frozen=True)
class BackTest:
    """One-step errors (forecast less what came) over `n` periods: mean, mean size, and root mean square."""

    n: int
    bias: float
    mean_error: float
    rms_error: float


def back_test(counts: Sequence[float], forecast: Callable[[Sequence[float]], float], *, warm_up: int = 12) -> BackTest:
    """How a method would have done: told of each period's past only, from `warm_up` periods on.

    forecast takes the past counts and gives the next period's, such as `lambda past: sba(past).forecast`.
    """
    series = numbers("counts", counts, fewest=2, most=10_000, at_least=0, at_most=_MOST)
    first = whole("warm_up", warm_up, at_least=1, at_most=len(series) - 1)
    errors = [number("forecast", forecast(series[:at]), at_least=0) - series[at] for at in range(first, len(series))]
    n = len(errors)
    return BackTest(
        n,
        math.fsum(errors) / n,
        math.fsum(abs(error) for error in errors) / n,
        math.sqrt(math.fsum(error * error for error in errors) / n),
    )
