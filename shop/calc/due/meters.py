"""The day on which a meter will reach an amount, forecast from recent use."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shop.calc.bounds import chance, number, numbers, whole

#: A forecast is made from so many days at least, and looks so many ahead at most.
FEWEST_DAYS, MOST_DAYS = 14, 3660


@dataclass(frozen=True)
class Reach:
    """In how many days an amount will be reached. high: None where use is so uneven that no end can be given.

    days_counted: how many days of use it rests on; a_day: their mean, in the meter's unit.
    """

    low: float
    middle: float
    high: float | None
    days_counted: int
    a_day: float


def reach(daily: Sequence[float], left: float, *, level: float = 0.9) -> Reach | None:
    """In how many days `left` more will have been used, and between which days `level` of the time.

    daily: what was used on each of the last calendar days, those without any among them (0), all in the meter's unit.
    None with fewer than FEWEST_DAYS of them, with no use in them, or if it lies beyond MOST_DAYS.

    The use of k days to come, from n days seen with mean m and standard deviation s, lies within
    k m +- t s sqrt(k + k^2/n), t of n - 1 degrees of freedom (the prediction interval for a sum, days taken as
    independent and alike: that is an assumption, for weekends are not workdays). The days at which the edges of that
    band reach `left` are the roots of (k m - left)^2 = t^2 s^2 (k + k^2/n).
    """
    used = numbers("daily", daily, most=10_000, at_least=0, at_most=1e15)
    left = number("left", left, at_least=0, at_most=1e15)
    level = chance("level", level)
    n = len(used)
    if n < FEWEST_DAYS:
        return None
    mean = math.fsum(used) / n
    if mean <= 0 or left / mean > MOST_DAYS:
        return None
    if left == 0:
        return Reach(0.0, 0.0, 0.0, n, mean)
    variance = math.fsum((one - mean) ** 2 for one in used) / (n - 1)
    spread = _t(n - 1, level) ** 2 * variance
    if spread <= 1e-12 * mean * mean:
        return Reach(left / mean, left / mean, left / mean, n, mean)
    squared, linear = mean * mean - spread / n, 2 * left * mean + spread
    root = math.sqrt(linear * linear - 4 * squared * left * left)
    low = 2 * left * left / (linear + root)
    high = (linear + root) / (2 * squared) if squared > 0 else None
    return Reach(low, left / mean, high if high is not None and high <= MOST_DAYS else None, n, mean)


# Days -----------------------------------------------------------------------------------------------------------------


def days_open(opened: date, day: date) -> int:
    """For how many days something has been open on `day`: the midnights since the day it was opened, 0 on that day.

    Days of the calendar, so that neither its hour nor a change of clocks makes one more or less.
    """
    return (day - opened).days


def day_open_for(opened: date, days: int) -> date:
    """The day on which something opened on `opened` has been open for so many days. ValueError past the year 9999."""
    days = whole("days", days, at_least=0, at_most=3_000_000)
    try:
        return opened + timedelta(days=days)
    except OverflowError as far:
        raise ValueError("days must end before the year 10000.") from far


def _t(freedom: int, level: float) -> float:
    """Student's t for a two-sided interval."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, (1 + level) / 2))
