"""How long a life will last, starting from the shop's own guess and learning from every life that ended or still runs.

The law is a Weibull whose two figures are not known. Before any life has ended, what is known of them is the prior: a
typical life in hours, how sure the shop is of it, and that edges wear out rather than fail at random. Bayes' rule on a
grid of the two figures does the rest: exact up to the grid, no random draws, the same answer every time.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from shop.calc.bounds import chance, number
from shop.calc.life.lives import check_entries, check_lives
from shop.calc.life.weibull import MOST_HOURS, check_hours

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: What the shop can say of its guess, and the factor it stands for: nine times in ten, the typical life of this kind
#: lies within that factor of the guess, up or down. Our own scale, no source.
SURE: dict[str, float] = {"rough": 3.0, "fair": 1.75, "well": 1.25}

_Z90 = 1.6448536269514722
_LOG_LOG_2 = math.log(math.log(2))
_GRID = 61
#: Shapes considered at all: below 0.3 a mean life says nothing any more, above 200 all lives are alike.
_SHAPES = (0.3, 200.0)
#: Where the posterior is this much (in natural logarithms) below its peak it no longer counts.
_DROP = 16.0


class Band(NamedTuple):
    """An estimate with the interval that holds it at some level."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class LifePrior:
    """What the shop expects before it has seen lives end.

    expected_hours   a typical life: half of them last longer
    sure             how well that is known: "rough", "fair" or "well" (see SURE), or a factor above 1 of its own
    wear             how strongly age tells, as a Weibull shape: 1 none, 2 wear, 4 all wear out at nearly the same age
    wear_sure        the factor within which `wear` lies, nine times in ten

    wear 2 within a factor 2 is our own assumption for a cutting edge, no source.
    """

    expected_hours: float
    sure: str | float = "rough"
    wear: float = 2.0
    wear_sure: float = 2.0

    def __post_init__(self) -> None:
        number("expected_hours", self.expected_hours, at_least=1e-3, at_most=1e6)
        if isinstance(self.sure, str):
            if self.sure not in SURE:
                raise ValueError(f"sure must be one of {', '.join(SURE)}, or a number, not {self.sure[:30]!r}.")
        else:
            number("sure", self.sure, at_least=1.01, at_most=100)
        number("wear", self.wear, at_least=0.5, at_most=10)
        number("wear_sure", self.wear_sure, at_least=1.01, at_most=4)

    @property
    def factor(self) -> float:
        """The factor either way that holds the typical life nine times in ten."""
        return SURE[self.sure] if isinstance(self.sure, str) else float(self.sure)

    @property
    def in_words(self) -> str:
        low, high = self.expected_hours / self.factor, self.expected_hours * self.factor
        return (
            f"A typical life of {self.expected_hours:g} h, taken as somewhere from {low:.3g} to {high:.3g} h "
            "nine times in ten."
        )


class _Axis(NamedTuple):
    """Evenly spaced values of a logarithm."""

    low: float
    high: float

    @property
    def width(self) -> float:
        return self.high - self.low

    def values(self, count: int) -> "NDArray[Any]":
        import numpy as np

        return np.linspace(self.low, self.high, count)


@dataclass(frozen=True)
class LifePosterior:
    """What a prior and some lives say together; useful with no life ended, or none at all.

    hours, ended, entered: as for fit_weibull. All answers average over every pair of figures still credible, so they
    are wide when little is known.
    """

    prior: LifePrior
    hours: tuple[float, ...] = ()
    ended: tuple[bool, ...] = ()
    entered: tuple[float, ...] = ()
    #: Shapes, logarithms of medians in hours, and weights (sum 1) of the grid's points that still count, flat.
    _shape: "NDArray[Any]" = field(init=False, repr=False, compare=False)
    _log_median: "NDArray[Any]" = field(init=False, repr=False, compare=False)
    _weight: "NDArray[Any]" = field(init=False, repr=False, compare=False)

    def __init__(
        self,
        prior: LifePrior,
        hours: Iterable[float] = (),
        ended: Iterable[bool] = (),
        *,
        entered: Iterable[float] = (),
    ) -> None:
        if not isinstance(prior, LifePrior):
            raise ValueError("prior must be a LifePrior.")
        times, flags = check_lives(hours, ended)
        ages = check_entries(entered, times, flags)
        keep = object.__setattr__  # frozen from here on
        keep(self, "prior", prior)
        keep(self, "hours", tuple(times))
        keep(self, "ended", tuple(flags))
        keep(self, "entered", tuple(ages))
        shape, log_median, weight = _grid(prior, times, flags, ages)
        keep(self, "_shape", shape)
        keep(self, "_log_median", log_median)
        keep(self, "_weight", weight)

    @property
    def failures(self) -> int:
        """Lives that wore out."""
        return sum(self.ended)

    @property
    def running(self) -> int:
        """Lives that still run, or ended by something else."""
        return len(self.ended) - self.failures

    @property
    def rests_on(self) -> str:
        """One sentence: how many lives are behind it, and what filled the gap."""
        others = f"{self.running} {'still runs' if self.running == 1 else 'still run'} or ended otherwise"
        if self.failures == 0:
            seen = f" ({others})" if self.running else ""
            return f"No life has worn out yet{seen}: this rests on the room's own guess. {self.prior.in_words}"
        lives = "1 life" if self.failures == 1 else f"{self.failures} lives"
        gap = " The room's own guess still weighs in." if self.failures < 10 else ""
        seen = f"; {others}" if self.running else ""
        return f"Rests on {lives} that wore out{seen}.{gap}"

    @cached_property
    def _log_scale(self) -> "NDArray[Any]":
        log_scale: NDArray[Any] = self._log_median - _LOG_LOG_2 / self._shape
        return log_scale

    def _survivals(self, hours: float) -> "NDArray[Any]":
        """Chance of outlasting `hours` at each point of the grid."""
        import numpy as np

        if hours == 0:
            return np.ones_like(self._shape)
        log_power = self._shape * (math.log(hours) - self._log_scale)
        survivals: NDArray[Any] = np.exp(-np.exp(np.minimum(log_power, 50.0)))
        return survivals

    def survival(self, hours: float) -> float:
        """Chance that a fresh life lasts longer than so many hours."""
        return float(self._weight @ self._survivals(check_hours("hours", hours)))

    def survival_band(self, hours: float, level: float = 0.9) -> Band:
        """The same with an interval: how far the share lasting that long is itself unsure."""
        low, high = self._quantiles(self._survivals(check_hours("hours", hours)), level)
        return Band(low, self.survival(hours), high)

    def _quantiles(self, values: "NDArray[Any]", level: float) -> tuple[float, float]:
        import numpy as np

        tail = (1 - chance("level", level)) / 2
        distinct, which = np.unique(values, return_inverse=True)
        weight = np.bincount(which.ravel(), self._weight)
        # each value stands for the stretch about it, so its own weight counts half below and half above it
        low, high = np.interp([tail, 1 - tail], np.cumsum(weight) - weight / 2, distinct)
        return float(low), float(high)

    def _conditional(self, age: float, extra: float) -> "NDArray[Any]":
        """R(age + extra)/R(age) at each point of the grid."""
        import numpy as np

        if extra == 0:
            return np.ones_like(self._shape)
        if age == 0:
            return self._survivals(extra)
        log_used = np.minimum(self._shape * (math.log(age) - self._log_scale), 200.0)
        grown = np.minimum(self._shape * math.log1p(extra / age), 200.0)
        more: NDArray[Any] = np.exp(-np.exp(log_used) * np.expm1(grown))
        return more

    def _conditional_from(self, age: float) -> "Callable[[float], NDArray[Any]]":
        """As `_conditional`, for many extras at one age."""
        import numpy as np

        if age == 0:
            return self._survivals
        used = np.exp(np.minimum(self._shape * (math.log(age) - self._log_scale), 200.0))

        def conditional(extra: float) -> "NDArray[Any]":
            more: NDArray[Any] = np.exp(-used * np.expm1(np.minimum(self._shape * math.log1p(extra / age), 200.0)))
            return more

        return conditional

    def _weight_at(self, age: float, counted: bool) -> "NDArray[Any]":
        """Weights for a life that has reached `age`: that it did tells something, unless it is already among them."""
        import numpy as np

        if counted or age == 0:
            return self._weight
        log_used = self._shape * (math.log(age) - self._log_scale)
        log_weight = np.log(self._weight) - np.exp(np.minimum(log_used, 200.0))
        weight: NDArray[Any] = np.exp(log_weight - log_weight.max())
        weight /= weight.sum()
        return weight

    def chance_of_finishing(self, age: float, extra: float, *, counted: bool = True) -> float:
        """Chance that a life which has reached `age` hours lasts `extra` more.

        counted: that this life is itself among `hours`, still running at `age` (as it is when all of a kind's lives
        are given); with False its having lasted so long is taken in here.
        """
        age, extra = check_hours("age", age), check_hours("extra", extra)
        return float(self._weight_at(age, counted) @ self._conditional(age, extra))

    def chance_band(self, age: float, extra: float, level: float = 0.9) -> Band:
        """The chance of finishing with an interval, for a life that is among those given."""
        age, extra = check_hours("age", age), check_hours("extra", extra)
        values = self._conditional(age, extra)
        low, high = self._quantiles(values, level)
        return Band(low, float(self._weight @ values), high)

    def remaining(self, age: float, q: float = 0.5, *, counted: bool = True) -> float:
        """Hours more within which a life that has reached `age` ends with chance q.

        q 0.05: all but one in twenty last longer; q 0.5: as likely as not. counted: as in chance_of_finishing.
        """
        age, q = check_hours("age", age), chance("q", q)
        weight, conditional = self._weight_at(age, counted), self._conditional_from(age)
        spent = -math.log1p(-q)

        def short(extra: float) -> float:
            """How much of the hazard that ends a share q is still to come after so many hours more; falls."""
            left = float(weight @ conditional(extra))
            return spent + math.log(left) if left > 0 else -math.inf

        low, high = 0.0, self.prior.expected_hours
        while short(high) > 0:
            low, high = high, high * 4
            if high > MOST_HOURS:
                return MOST_HOURS
        return _falls_through(short, low, high)

    @cached_property
    def mean(self) -> float:
        """Mean of a fresh life in hours."""
        import numpy as np

        factors = np.array([math.gamma(1 + 1 / shape) for shape in self._shape])
        return float(self._weight @ (np.exp(self._log_scale) * factors))

    def typical(self, level: float = 0.9) -> Band:
        """The hours that half of lives outlast, with an interval."""
        low, high = self._quantiles(self._log_median, level)
        return Band(math.exp(low), math.exp(float(self._weight @ self._log_median)), math.exp(high))

    def wear(self, level: float = 0.9) -> Band:
        """The Weibull shape, with an interval: above 1 all the way means that age tells."""
        import numpy as np

        log_shape = np.log(self._shape)
        low, high = self._quantiles(log_shape, level)
        return Band(math.exp(low), math.exp(float(self._weight @ log_shape)), math.exp(high))


def _falls_through(short: "Callable[[float], float]", low: float, high: float) -> float:
    """Where a function that falls from above 0 at `low` to 0 or below at `high` is 0 within 1e-12: regula falsi in the
    Illinois way (Dowell and Jarratt 1971), in halves where the upper end is no number to go by."""
    over, under = short(low), short(high)
    last = 0
    middle = high
    for _ in range(200):
        falsi = low + (high - low) * over / (over - under) if math.isfinite(under) else math.nan
        middle = falsi if low < falsi < high else (low + high) / 2
        found = short(middle)
        if abs(found) < 1e-12 or high - low < 1e-14 * high:
            break
        if found > 0:
            low, over = middle, found
            under = under / 2 if last > 0 else under
            last = 1
        else:
            high, under = middle, found
            over = over / 2 if last < 0 else over
            last = -1
    return middle


def _grid(
    prior: LifePrior, times: list[float], flags: list[bool], ages: list[float]
) -> "tuple[NDArray[Any], NDArray[Any], NDArray[Any]]":
    """Shapes, logarithms of medians, and weights where the posterior still counts.

    A coarse grid over all that prior and lives could mean, then a fine one over where the weight was found. The sum
    over lives depends on the shape only, so its cost does not grow with the number of scales. A life that came into
    view at an age has the hazard up to there taken off: f(t)/S(age), S(t)/S(age).
    """
    import numpy as np

    median_mid, median_sd = math.log(prior.expected_hours), math.log(prior.factor) / _Z90
    wear_mid, wear_sd = math.log(prior.wear), math.log(prior.wear_sure) / _Z90
    logs = np.log([time for time in times if time > 0])
    before = np.log([age for age in ages if age > 0])
    gone = np.log([time for time, over in zip(times, flags, strict=True) if over])
    shift = float(logs.max()) if len(logs) else 0.0

    def log_posterior(log_median: "NDArray[Any]", log_shape: "NDArray[Any]") -> "NDArray[Any]":
        """Rows: shapes; columns: medians."""
        shape = np.exp(log_shape)[:, None]
        log_scale = log_median[None, :] - _LOG_LOG_2 / shape
        found = (
            -0.5 * ((log_median[None, :] - median_mid) / median_sd) ** 2
            - 0.5 * ((log_shape[:, None] - wear_mid) / wear_sd) ** 2
        )
        if len(logs):
            # log of the sum over lives of t^shape, less what was behind those that entered late, as a column
            powers = np.exp(shape * (logs[None, :] - shift)).sum(axis=1)
            if len(before):
                powers = np.maximum(powers - np.exp(shape * (before[None, :] - shift)).sum(axis=1), 1e-300)
            sums = np.log(powers)[:, None] + shape * shift
            found = found - np.exp(np.minimum(sums - shape * log_scale, 300.0))
        if len(gone):
            found = found + len(gone) * (np.log(shape) - shape * log_scale) + (shape - 1) * gone.sum()
        posterior: NDArray[Any] = found
        return posterior

    ends = [median_mid - 6 * median_sd, median_mid + 6 * median_sd]
    if len(logs):
        ends += [float(logs.min()) - 1, shift + 1]
    axes = (
        _Axis(min(ends), max(ends)),
        _Axis(max(math.log(_SHAPES[0]), wear_mid - 6 * wear_sd), min(math.log(_SHAPES[1]), wear_mid + 6 * wear_sd)),
    )
    if len(gone):
        axes = axes[0], _Axis(math.log(_SHAPES[0]), math.log(_SHAPES[1]))
    # Narrow both axes to where the weight is, until they no longer shrink much
    for _ in range(8):
        log_median, log_shape = (axis.values(_GRID) for axis in axes)
        found = log_posterior(log_median, log_shape)
        near = found > found.max() - _DROP
        narrower = _around(log_median, near.any(axis=0)), _around(log_shape, near.any(axis=1))
        done = all(new.width > 0.7 * old.width for new, old in zip(narrower, axes, strict=True))
        axes = narrower
        if done:
            break
    log_median, log_shape = (axis.values(_GRID) for axis in axes)
    found = log_posterior(log_median, log_shape)
    weight = np.exp(found - found.max())
    kept = weight > math.exp(-_DROP)
    rows, columns = kept.nonzero()
    return np.exp(log_shape)[rows], log_median[columns], weight[kept] / weight[kept].sum()


def _around(values: "NDArray[Any]", near: "NDArray[Any]") -> _Axis:
    """The stretch that holds all that is near, and one step more on each side."""
    places = near.nonzero()[0]
    step = float(values[1] - values[0])
    return _Axis(float(values[places[0]]) - step, float(values[places[-1]]) + step)
