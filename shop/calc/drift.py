"""Drift of a reading: EWMA and CUSUM charts, a straight line with its prediction interval, a slope that a few wild
points do not move."""

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist
from typing import NamedTuple

from shop.calc.bounds import chance, number, numbers


@dataclass(frozen=True)
class EwmaPoint:
    """One reading on an EWMA chart: its smoothed value, the limits there, and whether it lies outside them."""

    value: float
    ewma: float
    low: float
    high: float
    out: bool


def ewma_chart(
    values: Iterable[float],
    target: float,
    sd: float,
    *,
    weight: float = 0.3,
    width: float = 3.0,
    from_start: bool = True,
) -> list[EwmaPoint]:
    """Exponentially weighted moving averages of readings, oldest first, with limits about a target.

    E_i = weight x_i + (1 - weight) E_(i-1), from the target; limits target +- width sd sqrt(weight/(2 - weight)
    (1 - (1 - weight)^(2i))). With from_start False the limits are those of the long run throughout, as in the
    NIST/SEMATECH e-Handbook 6.3.2.4. sd is the readings' own standard deviation when nothing drifts.
    """
    readings = numbers("values", values, at_least=-1e9, at_most=1e9)
    centre = number("target", target, at_least=-1e9, at_most=1e9)
    sd = number("sd", sd, above=0, at_most=1e9)
    weight = number("weight", weight, at_least=0.01, at_most=1)
    width = number("width", width, above=0, at_most=10)
    points, smoothed = [], centre
    for place, reading in enumerate(readings, start=1):
        smoothed = weight * reading + (1 - weight) * smoothed
        settled = -math.expm1(2 * place * math.log1p(-weight)) if from_start and weight < 1 else 1.0
        reach = width * sd * math.sqrt(weight / (2 - weight) * settled)
        low, high = centre - reach, centre + reach
        points.append(EwmaPoint(reading, smoothed, low, high, not low <= smoothed <= high))
    return points


@dataclass(frozen=True)
class CusumPoint:
    """One reading on a CUSUM chart: both sums, and whether either is over the limit."""

    value: float
    high_sum: float
    low_sum: float
    out: bool


def cusum_chart(
    values: Iterable[float], target: float, slack: float, limit: float, *, back: float | None = None
) -> list[CusumPoint]:
    """Cumulative sums of readings above and below a target, oldest first.

    high_sum = max(0, before + x - target - slack), low_sum = max(0, before + target - slack - x); out above `limit`.
    Slack is usually half the shift worth finding, the limit 4 to 5 standard deviations (NIST/SEMATECH e-Handbook
    6.3.2.3). back: while a sum is over the limit, readings that lie nearer the target than slack are summed up the same
    way against those that do not; once that sum is over `back`, what strayed is back, and its sum begins anew at
    nought, as it does after what was wrong is put right. None: a sum only wears off. All in the readings' own unit.
    """
    readings = numbers("values", values, at_least=-1e9, at_most=1e9)
    centre = number("target", target, at_least=-1e9, at_most=1e9)
    slack = number("slack", slack, at_least=0, at_most=1e9)
    limit = number("limit", limit, above=0, at_most=1e9)
    back = math.inf if back is None else number("back", back, above=0, at_most=1e9)
    points = []
    above, below = _Sum(slack, limit, back), _Sum(slack, limit, back)
    for reading in readings:
        above.add(reading - centre)
        below.add(centre - reading)
        points.append(CusumPoint(reading, above.sum, below.sum, above.sum > limit or below.sum > limit))
    return points


@dataclass
class _Sum:
    """One side of a CUSUM. near: while it is over its limit, the sum of what speaks for the target."""

    slack: float
    limit: float
    back: float
    sum: float = 0.0
    near: float = 0.0

    def add(self, off: float) -> None:
        """off: how far a reading lies from the target, to this side."""
        was_out = self.sum > self.limit
        self.sum = max(0.0, self.sum + off - self.slack)
        self.near = max(0.0, self.near + self.slack - off) if was_out else 0.0
        if self.near > self.back:
            self.sum = self.near = 0.0


def surprises(
    x: Iterable[float], y: Iterable[float], *, usual_sd: float, worth: float = 6.0, leave_out: float = 2.0
) -> list[float | None]:
    """How far each reading lay from the straight line through those before it, in standard deviations.

    For a reading that is known to creep: what is left is without the creep, and may go on an EWMA chart about 0. They
    are recursive residuals (Brown, Durbin and Evans 1975), (y - line) / sqrt(1 + 1/n + d^2/spread), over a standard
    deviation that starts from `usual_sd` (above 0), taken to be worth so many readings, and learns from the scatter
    about the line; Student's t turned into the normal deviate of the same chance. A reading further off than
    `leave_out` is not taken into the line: else a jump would soon bend it, and hide (our own addition, no source).
    None before there are three earlier readings at two or more x.
    """
    from scipy.special import ndtri, stdtr

    xs = numbers("x", x, at_least=-1e9, at_most=1e9)
    ys = numbers("y", y, at_least=-1e9, at_most=1e9)
    if len(xs) != len(ys):
        raise ValueError(f"y must have as many values as x, {len(xs)}, not {len(ys)}.")
    usual_sd = number("usual_sd", usual_sd, above=0, at_most=1e9)
    worth = number("worth", worth, above=0, at_most=1e6)
    leave_out = number("leave_out", leave_out, above=0, at_most=100)
    found: list[float | None] = []
    taken: list[tuple[float, float]] = []
    for at, reading in zip(xs, ys, strict=True):
        off: float | None = None
        if len(taken) >= 3 and any(x != taken[0][0] for x, _ in taken):
            line = fit_line([x for x, _ in taken], [y for _, y in taken])
            free = line.n - 2
            sd = math.sqrt((worth * usual_sd**2 + free * line.residual_sd**2) / (worth + free))
            apart = math.sqrt(1 + 1 / line.n + (at - line.x_mean) ** 2 / line.x_spread)
            t = (reading - line.at(at)) / (sd * apart)
            off = math.copysign(-float(ndtri(max(float(stdtr(worth + free, -abs(t))), 1e-300))), t)
        found.append(off)
        if off is None or abs(off) < leave_out:
            taken.append((at, reading))
    return found


class Estimate(NamedTuple):
    """A value with an interval about it."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Line:
    """A straight line by least squares, y = intercept + slope x, and what is needed to judge it.

    residual_sd has n - 2 degrees of freedom; r2 is the share of the spread that the line explains (1 if y is constant).
    """

    intercept: float
    slope: float
    se_intercept: float
    se_slope: float
    residual_sd: float
    r2: float
    n: int
    x_mean: float
    x_spread: float

    def at(self, x: float) -> float:
        """The line's own height at x."""
        return self.intercept + self.slope * number("x", x, at_least=-1e9, at_most=1e9)

    def prediction(self, x: float, level: float = 0.95) -> Estimate:
        """Where one more reading at x will lie, `level` of the time, if the line holds and its scatter is normal."""
        return self._interval(x, level, one_more=1.0)

    def mean_interval(self, x: float, level: float = 0.95) -> Estimate:
        """Where the line itself lies at x."""
        return self._interval(x, level, one_more=0.0)

    def _interval(self, x: float, level: float, *, one_more: float) -> Estimate:
        middle = self.at(x)
        away = (float(x) - self.x_mean) ** 2 / self.x_spread
        reach = self.t(level) * self.residual_sd * math.sqrt(one_more + 1 / self.n + away)
        return Estimate(middle - reach, middle, middle + reach)

    def t(self, level: float) -> float:
        """Student's t for a two-sided interval of that level."""
        from scipy.special import stdtrit

        return float(stdtrit(self.n - 2, (1 + chance("level", level)) / 2))


def fit_line(x: Iterable[float], y: Iterable[float]) -> Line:
    """The least-squares line through at least three points whose x are not all alike; ValueError otherwise."""
    xs = numbers("x", x, fewest=3, at_least=-1e9, at_most=1e9)
    ys = numbers("y", y, fewest=3, at_least=-1e9, at_most=1e9)
    n = len(xs)
    if len(ys) != n:
        raise ValueError(f"y must have as many values as x, {n}, not {len(ys)}.")
    x_mean, y_mean = math.fsum(xs) / n, math.fsum(ys) / n
    x_spread = math.fsum((each - x_mean) ** 2 for each in xs)
    if x_spread <= 1e-18 * max(1.0, x_mean**2) * n:
        raise ValueError("x must not be the same for all points.")
    pairs = list(zip(xs, ys, strict=True))
    slope = math.fsum((a - x_mean) * (b - y_mean) for a, b in pairs) / x_spread
    intercept = y_mean - slope * x_mean
    # Residuals about the means, so that a far-off intercept costs no digits
    left = math.fsum(((b - y_mean) - slope * (a - x_mean)) ** 2 for a, b in pairs)
    spread = math.fsum((b - y_mean) ** 2 for b in ys)
    sd = math.sqrt(left / (n - 2))
    return Line(
        intercept=intercept,
        slope=slope,
        se_intercept=sd * math.sqrt(1 / n + x_mean**2 / x_spread),
        se_slope=sd / math.sqrt(x_spread),
        residual_sd=sd,
        r2=min(1.0, max(0.0, 1 - left / spread)) if spread > 0 else 1.0,
        n=n,
        x_mean=x_mean,
        x_spread=x_spread,
    )


def robust_slope(runs: Iterable[Iterable[tuple[float, float]]], level: float = 0.9) -> Estimate | None:
    """The middle of all slopes between two points of the same run, with Sen's interval; None without such a pair.

    runs: of (x, y); only points of one run are compared, for between runs y may jump (a cylinder is changed). For one
    run it is the slope of Theil (1950) and Sen (1968), as scipy.stats.theilslopes: a few wild points do not move it.
    Of several runs the variances of Kendall's sum add up. The interval supposes points that scatter about a line by
    themselves, each on its own.
    """
    slopes: list[float] = []
    variance = 0.0
    for run in runs:
        points = list(run)
        xs = numbers("x", (x for x, _ in points), fewest=0, at_least=-1e9, at_most=1e9)
        ys = numbers("y", (y for _, y in points), fewest=0, at_least=-1e9, at_most=1e9)
        pairs = [
            (ys[j] - ys[i]) / (xs[j] - xs[i]) for i in range(len(xs)) for j in range(i + 1, len(xs)) if xs[j] != xs[i]
        ]
        if pairs:
            slopes += pairs
            variance += _kendall_variance(xs, ys)
    if not slopes:
        return None
    slopes.sort()
    reach = _z(level) * math.sqrt(max(0.0, variance))
    many = len(slopes)
    low = max(min(round((many - reach) / 2) - 1, many - 1), 0)
    high = min(round((many + reach) / 2), many - 1)
    return Estimate(slopes[low], _middle(slopes), slopes[high])


def _z(level: float) -> float:
    return NormalDist().inv_cdf((1 + chance("level", level)) / 2)


def _middle(ordered: list[float]) -> float:
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def _kendall_variance(xs: list[float], ys: list[float]) -> float:
    """Of the count of rising less falling pairs, with what ties take off it."""
    n = len(xs)
    ties = sum(k * (k - 1) * (2 * k + 5) for row in (xs, ys) for k in Counter(row).values())
    return (n * (n - 1) * (2 * n + 5) - ties) / 18
