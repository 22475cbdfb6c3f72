"""The product-limit estimate of survival: what the lives themselves say, with no law assumed."""

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

from shop.calc.bounds import chance
from shop.calc.life.lives import check_entries, check_lives


@dataclass(frozen=True)
class LifeStep:
    """The estimate from `hours` on, until the next step.

    at_risk lives had reached these hours in view, `ended` of them ended then. se is Greenwood's standard error, low and
    high an interval on the log(-log) scale. Where no life is left, survival, se and low are 0 and high stays as it was.
    """

    hours: float
    at_risk: int
    ended: int
    survival: float
    se: float
    low: float
    high: float


def kaplan_meier(
    hours: Iterable[float], ended: Iterable[bool], level: float = 0.95, *, entered: Iterable[float] = ()
) -> list[LifeStep]:
    """Survival after each time at which a life ended (Kaplan and Meier 1958), oldest last; [] if none has ended.

    A life still running when others end at the same hours counts as at risk then; one that came into view at an age,
    `entered`, does so from past that age on (Tsai, Jewell and Wang 1987, from memory). Where few are in view early, all
    of them may end before others enter: the estimate is 0 from there on, whatever outlasts it.
    """
    times, flags = check_lives(hours, ended)
    ages = sorted(check_entries(entered, times, flags))
    ends = Counter(time for time, over in zip(times, flags, strict=True) if over)
    times.sort()
    z = NormalDist().inv_cdf((1 + chance("level", level)) / 2)
    steps: list[LifeStep] = []
    survival, greenwood, high = 1.0, 0.0, 1.0
    for time, gone in sorted(ends.items()):
        at_risk = bisect_left(ages, time) - bisect_left(times, time)
        survival *= 1 - gone / at_risk
        if gone == at_risk:
            steps.append(LifeStep(time, at_risk, gone, 0.0, 0.0, 0.0, high))
            break
        greenwood += gone / (at_risk * (at_risk - gone))
        spread = math.exp(z * math.sqrt(greenwood) / -math.log(survival))
        high = survival ** (1 / spread)
        steps.append(LifeStep(time, at_risk, gone, survival, survival * math.sqrt(greenwood), survival**spread, high))
    return steps
