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
    """All four methods told of one week after another, all items at once.

    Forecasts are those of DemandForecast, croston, sba and tsb. Row t is what they say with t weeks seen; rows past an
    item's own length mean nothing.
    """
    import numpy as np

    total, items = series.counts.shape
    rate = np.zeros((total + 1, 4, items))
    evidence = np.ones_like(rate)
    lumps = np.ones_like(rate)
    a, b = shape.copy(), weeks.copy()
    size = np.zeros(items)  # Croston's and SBA's are also TSB's: smoothed once a demand
    interval, since, chance = np.zeros(items), np.zeros(items), np.zeros(items)
    errors, scales = np.zeros((4, items)), np.zeros((4, items))
    for t in range(total + 1):
        m, e = rate[t], evidence[t]
        # what is said with t weeks seen
        e[0] = DISCOUNT * b
        m[0] = DISCOUNT * a / e[0]
        known = np.maximum(interval, 1.0)
        np.divide(size, known, out=m[1])
        np.multiply(m[1], 1 - WEIGHT / 2, out=m[2])
        np.multiply(chance, size, out=m[3])
        seen = max(t, 1)
        np.minimum(_EVIDENCE * known, seen, out=e[1])
        e[2] = e[1]
        e[3] = min(_EVIDENCE, seen)
        start = _START_WEEKS * m
        np.divide(errors + start * np.maximum(m, 1), np.maximum(scales + start, 1e-12), out=lumps[t])
        if t == total:
            break
        # what then came
        count = series.counts[t]
        some = count > 0
        told = m > 0
        errors *= _FORGET
        scales *= _FORGET
        errors += np.where(told, (count - m) ** 2 * e / (e + 1), 0.0)
        scales += m
        a *= DISCOUNT
        a += count
        b *= DISCOUNT
        b += 1
        since += 1
        first = size == 0
        size = np.where(some, np.where(first, count, WEIGHT * count + (1 - WEIGHT) * size), size)
        interval = np.where(some, np.where(first, since, WEIGHT * since + (1 - WEIGHT) * interval), interval)
        since[some] = 0
        chance = WEIGHT * some + (1 - WEIGHT) * chance if t else some.astype(float)
    return Rolled(rate, evidence, np.clip(lumps, 1.0, MOST_COUNT))
