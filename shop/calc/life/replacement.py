"""When to replace a thing that wears before it fails: age replacement."""

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from shop.calc.bounds import number

#: Lives beyond the age that one in a thousand million reaches are left out; before the age by which one in ten million
#: has ended, a life is taken as whole in one stretch.
_REACHED, _WHOLE = 1e-9, 1 - 1e-7
_PANELS = 80
#: Gauss-Legendre, 8 points on -1 to 1: half of the places and their weights.
_GAUSS = (
    (0.1834346424956498, 0.3626837833783620),
    (0.5255324099163290, 0.3137066458778873),
    (0.7966664774136267, 0.2223810344533745),
    (0.9602898564975363, 0.1012285362903763),
)


class LifeLaw(Protocol):
    """Anything that says the chance of lasting longer than so many hours."""

    def survival(self, hours: float, /) -> float: ...


@dataclass(frozen=True)
class Replacement:
    """Replace at `hours` of age, or when it fails if that comes first.

    hours is None if running to failure is best (no wear, or a failure that costs no more). Costs are per hour in use;
    `saves` is the share that replacing saves against running to failure.
    """

    hours: float | None
    cost_per_hour: float
    cost_run_to_failure: float
    saves: float


def _costs(planned_cost: object, failure_cost: object) -> tuple[float, float]:
    planned = number("planned_cost", planned_cost, above=0, at_most=1e12)
    return planned, number("failure_cost", failure_cost, above=0, at_most=1e12)


def _area(survival: Callable[[float], float], start: float, end: float) -> float:
    """Integral of the survival over one panel."""
    half, middle = (end - start) / 2, (end + start) / 2
    return half * math.fsum(
        weight * (survival(middle - half * place) + survival(middle + half * place)) for place, weight in _GAUSS
    )


def _age_when(survival: Callable[[float], float], share: float) -> float:
    """The age, within a part in ten thousand, up to which more than that share last."""
    low, high = 0.0, 1.0
    while survival(high) > share:
        low, high = high, high * 2
        if high > 1e9:
            raise ValueError("life must end: its survival must fall below one in a thousand million by 1e9 hours.")
    while high - low > 1e-4 * high and high > 1e-12:
        middle = (low + high) / 2
        low, high = (middle, high) if survival(middle) > share else (low, middle)
    return high if share < 0.5 else low


def _edges(first: float, last: float) -> list[float]:
    """Panel edges up to the last age: one panel to the first, and from there each longer by the same factor, for a
    doubtful life may last a thousand times as long as a usual one."""
    first = max(first, last * 1e-12)
    grows = math.log(last / first) / (_PANELS - 1)
    return [0.0, *(first * math.exp(grows * place) for place in range(_PANELS - 1)), last]


def cost_per_hour(life: LifeLaw, hours: float, planned_cost: float, failure_cost: float) -> float:
    """Cost per hour of replacing at an age: [planned R + failure (1 - R)] / integral of R up to it.

    Barlow and Hunter 1960, policy I; Barlow and Proschan 1965, ch. 4. Costs in any one currency, above 0.
    """
    planned, failure = _costs(planned_cost, failure_cost)
    hours = number("hours", hours, above=0, at_most=1e9)
    edges = _edges(min(_age_when(life.survival, _WHOLE), hours / 2), hours)
    area = math.fsum(_area(life.survival, a, b) for a, b in itertools.pairwise(edges))
    reached = life.survival(hours)
    return (planned * reached + failure * (1 - reached)) / area


def age_to_replace(life: LifeLaw, planned_cost: float, failure_cost: float) -> Replacement:
    """The age at which planned replacement costs least per hour, as good as new afterwards.

    planned_cost is a replacement in good time, failure_cost one after a failure with all that it spoils. With a
    posterior, `life` averages over what is not known: least expected cost over one life, by the ratio of expectations.
    """
    planned, failure = _costs(planned_cost, failure_cost)
    survival = life.survival
    edges = _edges(_age_when(survival, _WHOLE), _age_when(survival, _REACHED))
    areas = [0.0]
    for start, end in itertools.pairwise(edges):
        areas.append(areas[-1] + _area(survival, start, end))
    to_failure = failure / areas[-1]

    def cost(panel: int, hours: float) -> float:
        """Cost per hour at an age in the panel that begins at edges[panel]."""
        reached = survival(hours)
        area = areas[panel] + (_area(survival, edges[panel], hours) if hours > edges[panel] else 0.0)
        return (planned * reached + failure * (1 - reached)) / area

    best = min(range(1, len(edges)), key=lambda panel: cost(panel, edges[panel]))
    low, high = edges[best - 1], edges[min(best + 1, len(edges) - 1)]

    def at(hours: float) -> float:
        panel = best - 1 if hours < edges[best] else best
        return cost(panel, hours) if hours > 0 else math.inf

    hours = _least(at, low, high)
    saves = 1 - at(hours) / to_failure
    if failure <= planned or saves < 1e-6:
        return Replacement(None, to_failure, to_failure, 0.0)
    return Replacement(hours, at(hours), to_failure, saves)


def _least(cost: Callable[[float], float], low: float, high: float) -> float:
    """Where a cost with one dip between low and high is least: by SciPy's bounded Brent."""
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(cost, bounds=(low, high), method="bounded", options={"xatol": 1e-8 * high})
    return float(found.x)
