"""Demand to come, item by item: booked use by its day, and the usual use beyond it. For many items at once.

A week with bookings still asks for its usual use as far as that is more than what is booked: with weekly use F and b
booked, b + (F - b)+. Its second part is kept as the week's `open` share, E(F - b)+ / E F, of an ordinary week. So
demand up to any day is what is booked until then plus the ordinary use of so many open weeks, and every total is one
negative binomial on top of a known number. Where the counts hold only what was never booked all weeks are wholly open.

Private to this package. Arrays are (items, ...); days are counted from today, week w is days 7w to 7w + 6.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from shop.calc.demand import lattice
from shop.calc.demand.methods import Forecast

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: How far bookings are looked at; later weeks are ordinary ones.
WEEKS = 157
#: Points of a distribution that a total is worked out on.
CELLS = 512


@dataclass(frozen=True)
class Demand:
    """Of all items: rate, evidence and dispersion as in methods, (items,); booked use counted up to the beginning of
    each day, (items, 7 WEEKS + 1); open weeks counted up to the beginning of each week, (items, WEEKS + 1).
    """

    rate: "Array"
    evidence: "Array"
    lumps: "Array"
    booked_before: "Array"
    open_before: "Array"

    def of(self, places: "Array") -> "Demand":
        """The same for some of the items."""
        return Demand(
            self.rate[places],
            self.evidence[places],
            self.lumps[places],
            self.booked_before[places],
            self.open_before[places],
        )

    def booked(self, days: "Array") -> "Array":
        """Booked use on days before `days` (items, any): a whole number."""
        import numpy as np

        day = np.clip(np.ceil(days), 0, 7 * WEEKS).astype(int)
        return np.asarray(np.take_along_axis(self.booked_before, day, axis=1))

    def open(self, days: "Array") -> "Array":
        """Open weeks before `days` (items, any), parts of weeks by their share."""
        import numpy as np

        weeks = np.maximum(days, 0) / 7
        whole = np.minimum(weeks.astype(int), WEEKS - 1)
        before = np.take_along_axis(self.open_before, whole, axis=1)
        this = np.take_along_axis(self.open_before, whole + 1, axis=1) - before
        rest = np.maximum(weeks - WEEKS, 0)
        return np.asarray(before + np.minimum(weeks - whole, 1) * this + rest)

    def mean(self, days: "Array") -> "Array":
        """Expected demand before `days` (items, any)."""
        mean: Array = self.booked(days) + self.rate[:, None] * self.open(days)
        return mean

    def moments(self, days: "Array", weights: "Array") -> tuple["Array", "Array"]:
        """Mean and standard deviation of demand up to a day that is unsure: (items, nodes) to (items,) each."""
        import numpy as np

        weeks = self.open(days)
        usual = self.rate[:, None] * weeks
        mean = self.booked(days) + usual
        variance = usual * self.lumps[:, None] * (1 + weeks / self.evidence[:, None])
        middle = (weights * mean).sum(axis=1)
        square = (weights * (variance + (mean - middle[:, None]) ** 2)).sum(axis=1)
        return middle, np.sqrt(square)

    def chance_at_most(self, days: "Array", weights: "Array", grain: "Array", cells: int) -> "Array":
        """P(demand before an unsure day <= n grain) for n = 0..cells - 1: (items, nodes) to (items, cells)."""
        import numpy as np

        weeks = self.open(days)
        mean = self.rate[:, None] * weeks
        variance = mean * self.lumps[:, None] * (1 + weeks / self.evidence[:, None])
        step = grain[:, None]
        certain, mu, odds = lattice.in_steps(mean, variance, step)
        certain = certain + np.ceil(self.booked(days) / step - 1e-9).astype(int)
        found = lattice.chances(mu, odds, cells) * weights[..., None]
        found = lattice.shifted(found, certain).sum(axis=1)
        return np.asarray(np.minimum(np.cumsum(found, axis=1), 1.0))

    def _between(self, look: "Array") -> tuple["Array", "Array"]:
        """Mean and variance of ordinary use between two looks, so many days apart."""
        weeks = look / 7
        mean = self.rate * weeks
        return mean, mean * self.lumps * (1 + weeks / self.evidence)

    def passed_moments(self, look: "Array") -> tuple["Array", "Array"]:
        """About the mean of V, and a bound of its standard deviation (see passed)."""
        import numpy as np

        mean, variance = self._between(look)
        over = np.where(mean > 0, (variance + mean**2) / np.maximum(mean, 1e-12) / 2, 0.0)
        return over, over + np.sqrt(variance)

    def passed(self, look: "Array", grain: "Array", cells: int) -> "Array":
        """P(V = n grain), n = 0..cells - 1: by how much a level is passed when that is seen, (items, cells).

        With use X between two looks P(V = v) = P(X > v)/E X; V = 0 without looks or use.
        """
        import numpy as np

        certain, mu, odds = lattice.in_steps(*self._between(look), grain)
        below = np.cumsum(lattice.shifted(lattice.chances(mu, odds, cells), certain), axis=1)
        above = np.maximum(1 - below, 0)
        total = above.sum(axis=1, keepdims=True)
        none = total < 1e-9
        at_zero = np.arange(cells) == 0
        return np.asarray(np.where(none, at_zero, above / np.where(none, 1, total)))


def coming(
    forecasts: Sequence[Forecast], booked: Sequence[Sequence[tuple[int, int]]], in_counts: Sequence[bool]
) -> Demand:
    """Demand of items with those forecasts and bookings, each (day, quantity)."""
    import numpy as np

    items = len(forecasts)
    rate = np.array([each.per_week for each in forecasts])
    evidence = np.array([each.evidence_weeks for each in forecasts])
    lumps = np.array([each.dispersion for each in forecasts])
    by_day = np.zeros((items, 7 * WEEKS), dtype=int)
    for place, bookings in enumerate(booked):
        for day, quantity in bookings:
            if day < 7 * WEEKS:
                by_day[place, max(day, 0)] += quantity
    by_week = by_day.reshape(items, WEEKS, 7).sum(axis=2)
    open_weeks = np.ones((items, WEEKS))
    item, week = np.nonzero(by_week * np.array(in_counts, dtype=int).reshape(items, 1))
    if len(item):
        open_weeks[item, week] = _open(rate[item], evidence[item], lumps[item], by_week[item, week])
    zero = np.zeros((items, 1))
    return Demand(
        rate,
        evidence,
        lumps,
        np.hstack([zero.astype(int), np.cumsum(by_day, axis=1)]),
        np.hstack([zero, np.cumsum(open_weeks, axis=1)]),
    )


def _open(rate: "Array", evidence: "Array", lumps: "Array", booked: "Array") -> "Array":
    """E(F - b)+ / E F of a week's use F, for each booked week: 1 - (sum of P(F > n) over n < b)/E F."""
    import numpy as np

    grain = lattice.grain_for(booked, CELLS)
    variance = rate * lumps * (1 + 1 / evidence)
    certain, mu, odds = lattice.in_steps(rate, variance, grain)
    cells = int(np.ceil(booked / grain).max()) + 1
    above = 1 - np.cumsum(lattice.chances(mu, odds, cells), axis=1)
    until = np.rint(booked / grain).astype(int) - certain
    counted = np.arange(cells) < until[:, None]
    met = (above * counted).sum(axis=1) + np.minimum(certain, np.rint(booked / grain))
    return np.asarray(np.clip(1 - met * grain / np.maximum(rate, 1e-12), 0, 1))
