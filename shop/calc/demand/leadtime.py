"""How long a supplier takes: learnt from its own orders, with the promise to start from.

Days from sent to arrived are taken as log-normal. Neither of its two figures is known: before any order has come the
typical time is the promise, right within a factor 1.5 nine times in ten, and one order differs from the next by a
log-sd of about 0.2, within a factor 2; without a promise the typical time is three weeks, within a factor 3. (Our own
choices, no source.) What is believed of the typical time has long tails (Student's t, 3 degrees of freedom), so that
orders which contradict a promise soon outweigh it. Bayes' rule on a grid of the two figures adds each order that came,
as a whole day (so equal times make nothing certain), and each still open as "longer than so far". The answer averages
over all figures still credible: wide with few orders.

An order unlike all others says nothing of what is usual. One such order may be a slip in the books (fetched the same
day, entered a year late) and counts for little. Two that were late, or two that were early, are how this supplier
sometimes is: from then on the next order may be such a one too, as often as they were among all orders and eight usual
ones more (our own choice, no source). So two very late orders among twelve make one in ten as late.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from shop.calc.bounds import chance, number, whole

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

#: Longest time considered; what lies beyond is held to arrive on that day.
MOST_DAYS = 730
#: From so many arrived orders on the prior hardly matters.
ENOUGH_ORDERS = 8
GUESS_DAYS = 21
#: 0.95 quantiles of Student's t with 3 degrees of freedom, and of the normal.
_T95, _Z95 = 2.3533634348018264, 1.6448536269514722
_GUESS_SCALE, _PROMISE_SCALE = math.log(3) / _T95, math.log(1.5) / _T95
_SPREAD, _SPREAD_LOG_SD = 0.2, math.log(2) / _Z95
#: An order later than anything its lead time allows is expected on any of so many days to come (our own, no source).
OVERDUE_DAYS = 14
_GRID = (27, 17)
_ROUNDS = 3
#: Share of orders held to be unusual, and the days (on the logarithm) over which they are spread evenly.
_UNUSUAL = 0.02
_UNUSUAL_FROM, _UNUSUAL_TO = 0.25, MOST_DAYS + 0.5
#: Where the posterior is this much (in natural logarithms) below its peak it no longer counts.
_DROP = 12.0

Basis = Literal["orders", "orders_and_promise", "promise", "orders_and_guess", "guess", "stated"]


@dataclass(frozen=True)
class LeadTime:
    """Chances of an order arriving 0, 1, 2, ... days after it was sent (they add up to 1), and what they rest on.

    basis   "orders" (eight or more that came), "orders_and_promise", "promise", "orders_and_guess" and "guess" (no
            promise is known: three weeks), "stated" (LeadTime.known and LeadTime.about)
    orders, open_orders   those that came, and those still open that it learnt from
    unusual               of those that came, the ones more likely unusual than not and alone in that: they count for
                          little
    exceptions            those late, or early, beyond the usual that are not alone in it, still open ones too: they
                          count as what can happen, not as what is usual
    """

    chances: tuple[float, ...]
    orders: int = 0
    open_orders: int = 0
    promised_days: int | None = None
    basis: Basis = "stated"
    unusual: int = 0
    exceptions: int = 0

    def __post_init__(self) -> None:
        if not self.chances or min(self.chances) < 0 or not abs(math.fsum(self.chances) - 1) < 1e-6:
            raise ValueError("chances must be at least 0 each and add up to 1.")

    @property
    def rests_on(self) -> str:
        """One sentence: how many orders are behind it, and what filled the gap."""
        if self.basis == "stated":
            return "The lead time was stated."
        came = "1 order that came" if self.orders == 1 else f"{self.orders} orders that came"
        waiting = f" and {self.open_orders} still open" if self.open_orders else ""
        promise = "no promise, so three weeks were guessed to start from"
        if self.promised_days is not None:
            promise = f"the promise of {self.promised_days} day{'' if self.promised_days == 1 else 's'}"
        if not (self.orders or self.open_orders):
            return f"No order has come yet: this rests on {promise}."
        gap = "" if self.basis == "orders" else f", and on {promise}"
        odd = f"; {self.odd_words}" if self.odd_words else ""
        return f"Rests on {came}{waiting}{gap}{odd}."

    @property
    def odd_words(self) -> str:
        """How those unlike the others count, "" if there are none: "1 unusual order counts for little"."""
        told = []
        if self.exceptions:
            told.append(f"{self.exceptions} unusual orders count as what can happen, not as what is usual")
        if self.unusual:
            more = "more " if told else ""
            told.append(f"{self.unusual} {more}unusual order{' counts' if self.unusual == 1 else 's count'} for little")
        return "; ".join(told)

    @classmethod
    def known(cls, days: int) -> "LeadTime":
        """Always so many days, 0 to 730."""
        return cls((0.0,) * whole("days", days, at_least=0, at_most=MOST_DAYS) + (1.0,))

    @classmethod
    def about(cls, mean_days: float, sd_days: float) -> "LeadTime":
        """Log-normal with that mean and standard deviation, in whole days."""
        import numpy as np

        mean = number("mean_days", mean_days, at_least=0.5, at_most=365)
        sd = number("sd_days", sd_days, at_least=0, at_most=365)
        if sd == 0:
            return cls.known(round(mean))
        spread = math.sqrt(math.log1p((sd / mean) ** 2))
        middle = math.log(mean) - spread**2 / 2
        return cls(_days(np.array([middle]), np.array([spread]), np.ones(1)))

    @cached_property
    def mean_days(self) -> float:
        return math.fsum(day * p for day, p in enumerate(self.chances))

    @cached_property
    def sd_days(self) -> float:
        return math.sqrt(math.fsum((day - self.mean_days) ** 2 * p for day, p in enumerate(self.chances)))

    def chance_by(self, days: int) -> float:
        """Chance that it is there no more than so many days after it was sent."""
        last = whole("days", days, at_least=0, at_most=100_000)
        return 1.0 if last >= len(self.chances) - 1 else min(1.0, math.fsum(self.chances[: last + 1]))

    def quantile(self, q: float) -> int:
        """The first day by which it is there with chance q."""
        level, reached = chance("q", q), 0.0
        for day, p in enumerate(self.chances):
            reached += p
            if reached >= level - 1e-12:
                return day
        return len(self.chances) - 1

    def waited(self, days: int) -> "LeadTime":
        """The time still to come of an order sent so many days ago that has not arrived; day 0 is today.

        Later than anything the lead time allows: any of the next 14 days.
        """
        gone = whole("days", days, at_least=0, at_most=100_000)
        left = self.chances[gone:]
        total = math.fsum(left)
        if total < 1e-9:
            left, total = (1.0,) * OVERDUE_DAYS, float(OVERDUE_DAYS)
        return replace(self, chances=tuple(each / total for each in left))


def lead_time(arrived: Iterable[int], *, still_open: Iterable[int] = (), promised_days: int | None = None) -> LeadTime:
    """What a supplier's orders and its promise say of the next order.

    arrived        days from sent to arrived, for each order that came (0 to 730, at most 1000 orders)
    still_open     days since sent, for each that has not
    promised_days  its promise, 0 to 730; None if none is known
    """
    import numpy as np

    came = [whole("arrived", each, at_least=0, at_most=MOST_DAYS) for each in arrived]
    waiting = [whole("still_open", each, at_least=0, at_most=MOST_DAYS) for each in still_open]
    for name, given in (("arrived", came), ("still_open", waiting)):
        if len(given) > 1000:
            raise ValueError(f"{name} must have at least 0 and at most 1000 values, not {len(given)}.")
    promise = None if promised_days is None else whole("promised_days", promised_days, at_least=0, at_most=MOST_DAYS)
    days, counts = np.unique(np.array(came, dtype=float), return_counts=True)
    middle, spread, weight = _posterior(days, counts, np.array(waiting, dtype=float), promise)
    gap: tuple[Basis, Basis] = ("guess", "orders_and_guess") if promise is None else ("promise", "orders_and_promise")
    basis: Basis = "orders" if len(came) >= ENOUGH_ORDERS else gap[bool(came or waiting)]
    alone, repeated = _unusual_orders(days, counts, np.array(waiting, dtype=float), middle, spread, weight)
    chances = _days(middle, spread, weight, repeated, len(came) + len(waiting))
    exceptions = sum(each.count for each in repeated)
    return LeadTime(chances, len(came), len(waiting), promise, basis, alone, exceptions)


def _posterior(
    days: "Array", counts: "Array", waiting: "Array", promise: int | None
) -> tuple["Array", "Array", "Array"]:
    """Middles and log-sds (natural logarithms of days) still credible, flat, and their weights.

    The grid is first laid over prior and data alike, then twice over what is left of it.
    """
    import numpy as np

    typical = math.log(max(GUESS_DAYS if promise is None else promise, 0.5))
    doubt = _GUESS_SCALE if promise is None else _PROMISE_SCALE
    seen = np.log(np.maximum(np.concatenate([days, waiting]), 0.5))
    m_low = min(typical - 8 * doubt, seen.min(initial=typical) - 0.5)
    m_high = max(typical + 8 * doubt, seen.max(initial=typical) + 0.5)
    s_low, s_high = math.log(0.01), math.log(3.0)
    for _ in range(_ROUNDS):
        middles, spreads = np.linspace(m_low, m_high, _GRID[0]), np.linspace(s_low, s_high, _GRID[1])
        middle, log_spread = (each.ravel() for each in np.meshgrid(middles, spreads, indexing="ij"))
        log = -2 * np.log1p(((middle - typical) / doubt) ** 2 / 3)
        log -= ((log_spread - math.log(_SPREAD)) / _SPREAD_LOG_SD) ** 2 / 2
        log += _log_likelihood(middle, np.exp(log_spread), days, counts, waiting)
        log -= log.max()
        kept = log > -_DROP
        m_step, s_step = middles[1] - middles[0], spreads[1] - spreads[0]
        m_low, m_high = middle[kept].min() - m_step, middle[kept].max() + m_step
        s_low, s_high = log_spread[kept].min() - s_step, log_spread[kept].max() + s_step
    weight = np.exp(log[kept])
    return middle[kept], np.exp(log_spread[kept]), weight / weight.sum()


def _log_likelihood(middle: "Array", spread: "Array", days: "Array", counts: "Array", waiting: "Array") -> "Array":
    """For each pair of figures: each day's chance counted, and each wait's of lasting as long as it has."""
    import numpy as np
    from scipy.special import ndtr

    usual = (1 - _UNUSUAL) * _chance_usual(days, middle, spread)
    found = np.log(usual + _UNUSUAL * (_unusual_by(days + 0.5) - _unusual_by(days - 0.5))) @ counts
    longer = (1 - _UNUSUAL) * ndtr(-_z(waiting - 0.5, middle, spread))
    return np.asarray(found + np.log(longer + _UNUSUAL * (1 - _unusual_by(waiting - 0.5))).sum(axis=1))


def _z(day: "Array", middle: "Array", spread: "Array") -> "Array":
    import numpy as np

    return np.asarray((np.log(np.maximum(day, 1e-9)) - middle[:, None]) / spread[:, None])


def _chance_usual(days: "Array", middle: "Array", spread: "Array") -> "Array":
    """Chance of each whole day for a usual order, (figures, days)."""
    import numpy as np
    from scipy.special import ndtr

    low, high = _z(days - 0.5, middle, spread), _z(days + 0.5, middle, spread)
    # in the upper tail the difference is taken from above, where it keeps its digits
    return np.asarray(np.where(low > 0, ndtr(-low) - ndtr(-high), ndtr(high) - ndtr(low)))


def _unusual_by(day: "Array") -> "Array":
    """Chance that an unusual order is there by then."""
    import numpy as np

    span = math.log(_UNUSUAL_TO / _UNUSUAL_FROM)
    return np.asarray(np.log(np.clip(day, _UNUSUAL_FROM, _UNUSUAL_TO) / _UNUSUAL_FROM) / span)


def _chance_unusual(days: "Array", middle: "Array", spread: "Array", weight: "Array") -> "Array":
    """Chance that an order that took so long was an unusual one, averaged over the figures."""
    import numpy as np

    odd = _UNUSUAL * (_unusual_by(days + 0.5) - _unusual_by(days - 0.5))
    return np.asarray(weight @ (odd / (odd + (1 - _UNUSUAL) * _chance_usual(days, middle, spread))))


@dataclass(frozen=True)
class _Exception:
    """Orders unlike the usual that took so many days, or have waited so many. chance: that they are unusual at all."""

    day: float
    count: int
    chance: float
    is_open: bool


def _unusual_orders(
    days: "Array", counts: "Array", waiting: "Array", middle: "Array", spread: "Array", weight: "Array"
) -> tuple[int, list[_Exception]]:
    """Of the orders more likely unusual than not: how many that came are the only one on their side of the usual, and
    the others, which are not."""
    came = zip(days, counts, _chance_unusual(days, middle, spread, weight), strict=True)
    found = [_Exception(float(day), int(count), float(odd), False) for day, count, odd in came if odd > 0.5]
    still = zip(waiting, _chance_unusual_yet(waiting, middle, spread, weight), strict=True)
    found += [_Exception(float(day), 1, float(odd), True) for day, odd in still if odd > 0.5]
    typical = math.exp(float(weight @ middle))
    sides = [each for each in found if each.day < typical], [each for each in found if each.day >= typical]
    repeated = [each for side in sides if sum(one.count for one in side) > 1 for each in side]
    return sum(each.count for each in found if each not in repeated and not each.is_open), repeated


def _chance_unusual_yet(waiting: "Array", middle: "Array", spread: "Array", weight: "Array") -> "Array":
    """Chance that an order that has waited so long is an unusual one, averaged over the figures."""
    import numpy as np
    from scipy.special import ndtr

    odd = _UNUSUAL * (1 - _unusual_by(waiting - 0.5))
    return np.asarray(weight @ (odd / (odd + (1 - _UNUSUAL) * ndtr(-_z(waiting - 0.5, middle, spread)))))


def _days(
    middle: "Array", spread: "Array", weight: "Array", exceptions: Sequence[_Exception] = (), orders: int = 0
) -> tuple[float, ...]:
    """Chances of whole days, 0 on, averaged over the figures; the last one takes what lies beyond.

    exceptions: what the next of so many `orders` may be like too: about as long as they took, by the spread of usual
    ones; one still open at least as long as it has waited.
    """
    import numpy as np
    from scipy.special import ndtr

    counts = weight > 1e-4 * weight.max()
    middle, spread, weight = middle[counts], spread[counts], weight[counts] / weight[counts].sum()
    longest = [math.log(max(each.day, 0.5)) for each in exceptions]
    furthest = max(float((middle + 5 * spread).max()), *(each + 5 * float(spread.max()) for each in longest), 0.0)
    last = int(min(MOST_DAYS, math.ceil(math.exp(min(furthest, 7.0))) + 1))
    edges = np.log(np.arange(last) + 0.5)
    reached = weight @ ndtr((edges - middle[:, None]) / spread[:, None])
    shares = [each.count * each.chance / (orders + ENOUGH_ORDERS) for each in exceptions]
    reached = (1 - sum(shares)) * reached
    for share, each, long in zip(shares, exceptions, longest, strict=True):
        by_then = ndtr((edges - long) / spread[:, None])
        reached = reached + share * (weight @ (np.maximum(2 * by_then - 1, 0) if each.is_open else by_then))
    found = np.diff(reached, prepend=0.0, append=1.0)
    found = np.maximum(found, 0)
    return tuple((found / found.sum()).tolist())
