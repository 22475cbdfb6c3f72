"""Four ways to forecast weekly use, with one face: a rate, the evidence behind it, and how lumpy the weeks are.

What a method says of the weeks to come is three numbers:

    per_week         the expected use m of a week
    evidence_weeks   E: the rate is as sure as if it were the plain mean of so many weeks
    dispersion       f: a week's variance over its mean, once the rate is known; at least 1, as for whole numbers

Use over h weeks then has mean m h and variance f m h (1 + h/E): scatter that grows with h, and doubt about the rate
that grows with its square. The distribution of that mean and variance is taken to be negative binomial; for f = 1 it
is exactly that of a gamma-Poisson.

E of a smoothed mean of weight w is (2 - w)/w weeks; Croston's smooths once a demand, so as many demands. Both only as
far as there were weeks. f is estimated from the method's own one-step errors, forgetting 1 % a week. It starts, with
the weight of two weeks, from weeks that scatter by their own mean (Poisson if that is below one): so a stated
expectation of four weeks' weight is held to be right within half of it, one standard deviation, in whatever unit (our
own choices, no source). A steadier use than Poisson is treated as Poisson.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from shop.calc.bounds import number, numbers, whole
from shop.calc.demand.forecast import DemandTotal

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

MethodName = Literal["gamma_poisson", "croston", "sba", "tsb"]
METHODS: tuple[MethodName, ...] = ("gamma_poisson", "croston", "sba", "tsb")
METHOD_WORDS: dict[MethodName, str] = {
    "gamma_poisson": "discounted gamma-Poisson",
    "croston": "Croston",
    "sba": "Syntetos and Boylan (SBA)",
    "tsb": "Teunter, Syntetos and Babai (TSB)",
}

MOST_WEEKS = 1040
MOST_COUNT = 1_000_000
#: What a week still counts for a week later, as in DemandForecast.
DISCOUNT = 0.96
#: Weight of the newest in Croston, SBA and TSB.
WEIGHT = 0.1
_EVIDENCE = (2 - WEIGHT) / WEIGHT
_FORGET = 0.99
_START_WEEKS = 2.0
#: Weeks that give the prior where no expectation was stated; no back-test begins before they are over.
_FIRST_WEEKS = 8


@dataclass(frozen=True)
class Forecast:
    """Weekly use to come, by one method; see the head of this module."""

    method: MethodName
    per_week: float
    evidence_weeks: float
    dispersion: float
    weeks: int

    def __post_init__(self) -> None:
        if self.method not in METHODS:
            raise ValueError(f"method must be one of {', '.join(METHODS)}, not {str(self.method)[:30]!r}.")
        number("per_week", self.per_week, at_least=0, at_most=MOST_COUNT)
        number("evidence_weeks", self.evidence_weeks, above=0, at_most=1e9)
        number("dispersion", self.dispersion, at_least=1, at_most=MOST_COUNT)
        whole("weeks", self.weeks, at_least=0, at_most=MOST_WEEKS)

    def mean(self, weeks: float) -> float:
        """Expected use over so many weeks."""
        return self.per_week * number("weeks", weeks, at_least=0, at_most=1000)

    def sd(self, weeks: float) -> float:
        """Standard deviation of use over so many weeks."""
        return math.sqrt(self.mean(weeks) * self.dispersion * (1 + float(weeks) / self.evidence_weeks))

    def total(self, weeks: float, known: int = 0) -> DemandTotal:
        """The whole distribution of use over so many weeks, on top of what is known."""
        mean = self.mean(weeks)
        odds = max(self.dispersion * (1 + float(weeks) / self.evidence_weeks) - 1, 1e-9)
        certain = whole("known", known, at_least=0, at_most=MOST_COUNT)
        return DemandTotal(((1.0, mean / odds, odds),) if mean > 0 else ((1.0, 1.0, 0.0),), certain)


class Rolled(NamedTuple):
    """What each method would have said after each week: arrays (weeks + 1, methods, items), first axis weeks seen."""

    per_week: "Array"
    evidence_weeks: "Array"
    dispersion: "Array"


class Series(NamedTuple):
    """Checked histories: counts (weeks, items), oldest first from row 0, 0 after an item's end; and their lengths."""

    counts: "Array"
    lengths: "Array"


def check_series(series: Sequence[Sequence[float]]) -> Series:
    """Histories as one array; ValueError names the first count that makes no sense."""
    import numpy as np

    lengths = np.array([len(each) for each in series], dtype=int)
    counts = np.zeros((int(lengths.max(initial=0)), len(series)))
    for place, each in enumerate(series):
        if len(each) > MOST_WEEKS:
            raise ValueError(f"counts must have at least 0 and at most {MOST_WEEKS} values, not {len(each)}.")
        plain = set(map(type, each)) <= {int, float}
        column = np.asarray(each if plain else numbers("counts", each, at_least=0, at_most=MOST_COUNT), dtype=float)
        if not (np.isfinite(column) & (column >= 0) & (column <= MOST_COUNT)).all():
            numbers("counts", each, at_least=0, at_most=MOST_COUNT)
        counts[: len(column), place] = column
    return Series(counts, lengths)


def prior(series: Series, expected: "Array", expected_weeks: "Array") -> tuple["Array", "Array"]:
    """What gamma-Poisson starts from, per item: shape and weeks of its gamma.

    expected is the stated use a week, NaN where none was stated, and weighs expected_weeks weeks of data. With none
    stated, the mean of the item's first eight weeks weighs one week.
    """
    import numpy as np

    first = series.counts[:_FIRST_WEEKS].sum(axis=0) / np.clip(series.lengths, 1, _FIRST_WEEKS)
    stated = np.isfinite(expected)
    rate = np.maximum(np.where(stated, expected, first), 1e-3)
    weight = np.where(stated, expected_weeks, 1.0)
    return weight * rate, weight


def roll(series: Series, shape: "Array", weeks: "Array") -> Rolled:
    """All four methods told of one week after another: all items and all weeks at once.

    Forecasts are those of DemandForecast, croston, sba and tsb. Row t is what they say with t weeks seen; rows past an
    item's own length mean nothing.
    """
    import numpy as np

    counts = series.counts
    total, items = counts.shape
    week = np.arange(1.0, total + 1)[:, None]
    seen = np.maximum(np.arange(total + 1.0), 1)[:, None]
    rate = np.empty((total + 1, 4, items))
    evidence = np.empty_like(rate)

    weight = _faded(np.ones_like(counts), DISCOUNT, weeks)
    rate[:, 0] = _faded(counts, DISCOUNT, shape) / weight
    evidence[:, 0] = DISCOUNT * weight

    some = counts > 0
    demands = np.cumsum(some, axis=0)
    last = np.maximum.accumulate(np.where(some, week, 0.0), axis=0)
    since = week - np.vstack([np.zeros((1, items)), last[:-1]])
    size = _smoothed(counts, some, demands)
    interval = np.maximum(_smoothed(since, some, demands), 1.0)
    rate[:, 1] = size / interval
    rate[:, 2] = rate[:, 1] * (1 - WEIGHT / 2)
    evidence[:, 1] = evidence[:, 2] = np.minimum(_EVIDENCE * interval, seen)

    every = np.ones_like(some)
    rate[:, 3] = size * _smoothed(some, every, np.cumsum(every, axis=0))
    evidence[:, 3] = np.minimum(_EVIDENCE, seen)

    said, sure = rate[:-1], evidence[:-1]
    off = np.where(said > 0, (counts[:, None] - said) ** 2 * sure / (sure + 1), 0.0)
    none = np.zeros((4, items))
    errors, scales = _faded(off, _FORGET, none), _faded(said, _FORGET, none)
    start = _START_WEEKS * rate
    lumps = (errors + start * np.maximum(rate, 1)) / np.maximum(scales + start, 1e-12)
    return Rolled(rate, evidence, np.clip(lumps, 1.0, MOST_COUNT))


def _faded(values: "Array", kept: float, first: "Array") -> "Array":
    """s(0) = first, s(t) = kept s(t - 1) + values(t): (weeks, ...) to (weeks + 1, ...).

    Worked as kept^t (first + sum of values(s) kept^-s). Nothing is below 0, so no digits are lost.
    """
    import numpy as np

    power = kept ** np.arange(len(values) + 1.0).reshape(-1, *[1] * (values.ndim - 1))
    return np.asarray(power * np.cumsum(np.concatenate([first[None], values / power[1:]]), axis=0))


def _smoothed(values: "Array", told: "Array", count: "Array") -> "Array":
    """Exponential smoothing of those values that are told, from the first on: (weeks, items) to (weeks + 1, items).

    count: how many were told by then. Before the first it is 0. Worked as in _faded, with the count for the time.
    """
    import numpy as np

    power = (1 - WEIGHT) ** np.arange(len(values) + 1.0)
    terms = np.where(told, values * np.where(count > 1, WEIGHT, 1.0) / power[count], 0.0)
    found = power[count] * np.cumsum(terms, axis=0)
    return np.vstack([np.zeros((1, values.shape[1])), found])
