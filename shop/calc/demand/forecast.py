"""Our own forecast: a gamma-Poisson whose past counts for less the older it is, with whole predictive distributions.

The weekly rate is unknown, what is believed of it a gamma distribution. Each week both its figures are discounted, then
the week's count is learnt (the power discount of West and Harrison, Bayesian Forecasting and Dynamic Models; from
memory). Demand over weeks to come is then negative binomial: whole numbers, empty weeks, and doubt about the rate.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shop.calc.bounds import chance, number, numbers, whole

_MOST = 1_000_000


@dataclass(frozen=True)
class DemandTotal:
    """Demand over some stretch to come: what is known (booked) plus a mixture of negative binomials.

    parts are (weight, shape, odds) with mean weight x shape x odds; `odds` is weeks ahead over weeks of evidence.
    """

    parts: tuple[tuple[float, float, float], ...]
    known: int = 0

    @property
    def mean(self) -> float:
        return self.known + math.fsum(weight * shape * odds for weight, shape, odds in self.parts)

    @property
    def sd(self) -> float:
        unknown = self.mean - self.known
        square = math.fsum(w * (shape * o * (1 + o) + (shape * o) ** 2) for w, shape, o in self.parts)
        return math.sqrt(max(0.0, square - unknown * unknown))

    def chance_at_most(self, count: int) -> float:
        """Chance that no more than so many are asked for."""
        from scipy.special import betainc

        left = whole("count", count, at_least=0, at_most=1_000_000_000) - self.known
        if left < 0:
            return 0.0
        found = math.fsum(
            weight * (float(betainc(shape, left + 1, 1 / (1 + odds))) if odds > 0 else 1.0)
            for weight, shape, odds in self.parts
        )
        return min(1.0, found)

    def chance_of_running_out(self, on_hand: int) -> float:
        """Chance that more is asked for than is there."""
        return 1 - self.chance_at_most(on_hand)

    def quantile(self, q: float) -> int:
        """The smallest count that demand stays at or below with chance q: what to have for that service."""
        q = chance("q", q)
        low, high = -1, 1
        while self.chance_at_most(high) < q:
            low, high = high, high * 2
            if high > 500_000_000:
                return high
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self.chance_at_most(middle) >= q else (middle, high)
        return high


@dataclass(frozen=True)
class DemandForecast:
    """What past weeks say of the weeks to come.

    counts      per week, oldest first, weeks with none included; may be empty
    discount    what a week's evidence still counts for a week later, 0.5 to 1 (0.96: half after 17 weeks)
    guess       the weekly rate expected before any week was seen, and
    guess_weeks what that guess weighs, in weeks seen
    """

    counts: tuple[float, ...]
    discount: float
    shape: float
    weeks: float

    def __init__(
        self, counts: Sequence[float], *, discount: float = 0.96, guess: float = 1.0, guess_weeks: float = 1.0
    ) -> None:
        series = numbers("counts", counts, most=10_000, at_least=0, at_most=_MOST)
        kept = number("discount", discount, at_least=0.5, at_most=1)
        weeks = number("guess_weeks", guess_weeks, at_least=0.01, at_most=1000)
        shape = number("guess", guess, at_least=0.001, at_most=_MOST) * weeks
        for count in series:
            shape, weeks = kept * shape + count, kept * weeks + 1
        keep = object.__setattr__  # frozen from here on
        keep(self, "counts", tuple(series))
        keep(self, "discount", kept)
        # a rate of no evidence at all would be no distribution
        keep(self, "shape", max(kept * shape, 1e-9))
        keep(self, "weeks", kept * weeks)

    @property
    def per_week(self) -> float:
        """Expected demand in a week."""
        return self.shape / self.weeks

    def total(self, weeks: float, known: int = 0) -> DemandTotal:
        """Demand over so many weeks to come, on top of what is known (booked sides)."""
        ahead = number("weeks", weeks, at_least=0, at_most=1000)
        return DemandTotal(((1.0, self.shape, ahead / self.weeks),), _known(known))

    def over_lead_time(self, weights: Mapping[float, float], known: int = 0) -> DemandTotal:
        """Demand over a lead time that is itself unsure: {weeks: weight}, weights of any sum above 0."""
        leads = [number("weights", lead, at_least=0, at_most=1000) for lead in weights]
        shares = numbers("weights", weights.values(), fewest=1, most=1000, at_least=0, at_most=1e6)
        total = number("weights", math.fsum(shares), above=0)
        parts = tuple(
            (share / total, self.shape, lead / self.weeks) for lead, share in zip(leads, shares, strict=True) if share
        )
        return DemandTotal(parts, _known(known))


def _known(value: object) -> int:
    return whole("known", value, at_least=0, at_most=_MOST)
