"""The Weibull fit beside lifelines and reliability, on the same lives, in one run; and advice on very many styli."""

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
        from reliability.Fitters import Fit_Weibull_2P

        hours, ended = lives(number)
        apart = {
            "failures": [life for life, over in zip(hours, ended, strict=True) if over],
            "right_censored": [life for life, over in zip(hours, ended, strict=True) if not over],
        }

        def by_reliability() -> Any:
            return Fit_Weibull_2P(**apart, show_probability_plot=False, print_results=False)

        ours = fit_weibull(hours, ended)
        theirs = WeibullFitter().fit(hours, ended)
        others = by_reliability()
        pairs = [
            (
                _wall(lambda: fit_weibull(hours, ended)),
                _wall(lambda: WeibullFitter().fit(hours, ended)),
                _wall(by_reliability),
            )
            for _ in range(rounds)
        ]
    return {
        "ours_ms": 1000 * statistics.median(a for a, _, _ in pairs),
        "lifelines_ms": 1000 * statistics.median(b for _, b, _ in pairs),
        "reliability_ms": 1000 * statistics.median(c for _, _, c in pairs),
        "ratio": statistics.median(a / b for a, b, _ in pairs),
        "closer_by": log_likelihood(ours.shape, ours.scale, hours, ended)
        - log_likelihood(theirs.rho_, theirs.lambda_, hours, ended),
        "closer_than_reliability_by": log_likelihood(ours.shape, ours.scale, hours, ended)
        - log_likelihood(others.beta, others.alpha, hours, ended),
    }


def measure_advice(styli: int = 200, number: int = 5_000, kinds: int = 8, rounds: int = 5) -> dict[str, Any]:
    """The posterior of each kind from all lives together, the age at which its change costs least, and for each stylus
    the hours left at three confidences and the advice over six booked sides. No database; nothing is kept between
    rounds."""
    from datetime import date

    from shop.calc.life import LifePosterior, LifePrior, age_to_replace
    from shop.cutting import queries
    from shop.cutting.models import Booking, BookingSide, CuttingLimits, Life, Stylus, StylusKind

    rng = random.Random(7)
    booking = Booking(code="B-1", cut_on=date(2025, 3, 3))
    sides = [BookingSide(booking=booking, label=label, play_s=rng.randint(900, 1300)) for label in "ABCDEF"]
    seen = [lives(number // kinds, seed=kind) for kind in range(kinds)]
    cut = [Life(stylus=Stylus(), cut_s=rng.randint(0, 14 * 3600)) for _ in range(styli)]
    limits, today = CuttingLimits(pk=1), date(2025, 3, 3)

    def all_of_it() -> int:
        told = 0
        rest = []
        for place, (hours, ended) in enumerate(seen):
            posterior = LifePosterior(LifePrior(12), hours, ended)
            rest.append((StylusKind(name=f"Kind {place}"), posterior, age_to_replace(posterior, 106, 190)))
        for place, life in enumerate(cut):
            kind, posterior, change = rest[place % kinds]
            outlook = queries.Outlook(kind, life.hours, posterior.failures, posterior.running, posterior)
            told += len(outlook.left)
            told += queries.advice(life, outlook, sides, limits, today=today, change=change).sentence != ""
        return told

    all_of_it()
    spent = [(_wall(all_of_it), _cpu(all_of_it)) for _ in range(rounds)]
    return {
        "s": statistics.median(wall for wall, _ in spent),
        "cpu_s": statistics.median(cpu for _, cpu in spent),
        "styli": styli,
        "lives": number,
    }


def _cpu(call: Callable[[], Any]) -> float:
    began = time.process_time()
    call()
    return time.process_time() - began


def _wall(call: Callable[[], Any]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began
