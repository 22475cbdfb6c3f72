"""The Weibull fit beside lifelines, on the same lives, in one run."""

import random
import statistics
import time
import warnings
from collections.abc import Callable
from math import exp, log
from typing import Any


def lives(number: int, seed: int = 5) -> tuple[list[float], list[bool]]:
    """Hours and whether each ended: Weibull 2.4, 12 h, a third still running."""
    rng = random.Random(seed)
    hours, ended = [], []
    for _ in range(number):
        life, seen = rng.weibullvariate(12, 2.4), rng.uniform(4, 24)
        hours.append(min(life, seen))
        ended.append(life <= seen)
    return hours, ended


def log_likelihood(shape: float, scale: float, hours: list[float], ended: list[bool]) -> float:
    total = 0.0
    for t, done in zip(hours, ended, strict=True):
        z = log(t / scale)
        total += (log(shape / t) + shape * z if done else 0.0) - exp(shape * z)
    return total


def measure(number: int = 200, rounds: int = 9) -> dict[str, Any]:
    from shop.calc.life import fit_weibull

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from lifelines import WeibullFitter

        hours, ended = lives(number)
        ours = fit_weibull(hours, ended)
        theirs = WeibullFitter().fit(hours, ended)
        pairs = [
            (_wall(lambda: fit_weibull(hours, ended)), _wall(lambda: WeibullFitter().fit(hours, ended)))
            for _ in range(rounds)
        ]
    return {
        "ours_ms": 1000 * statistics.median(a for a, _ in pairs),
        "lifelines_ms": 1000 * statistics.median(b for _, b in pairs),
        "ratio": statistics.median(a / b for a, b in pairs),
        "closer_by": log_likelihood(ours.shape, ours.scale, hours, ended)
        - log_likelihood(theirs.rho_, theirs.lambda_, hours, ended),
    }


def _wall(call: Callable[[], Any]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began
