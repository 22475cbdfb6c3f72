"""When a reading that creeps up or down with hours of use will reach a threshold, such as a stylus growing noisy."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from shop.calc.bounds import number
from shop.calc.drift import Line, fit_line

#: No crossing is sought further off than this many times the hours seen so far.
_FURTHEST = 20.0


@dataclass(frozen=True)
class Crossing:
    """Hours from now until the threshold: expected by the line, and the soonest and latest likely.

    None means not within twenty times the hours seen. `soonest` is when one more reading may first lie beyond it,
    `latest` when one more reading will hardly still lie short of it.
    """

    soonest: float | None
    expected: float | None
    latest: float | None
    level: float
    line: Line


def hours_to_threshold(
    hours: Iterable[float],
    readings: Iterable[float],
    threshold: float,
    *,
    now: float | None = None,
    level: float = 0.9,
    toward: Literal["up", "down"] = "up",
) -> Crossing:
    """Hours until a straight-line trend reaches a threshold, with the line's prediction interval.

    hours (of use, at least three, not all alike) and readings go in pairs; `now` is the hours reached, the largest by
    default. toward: whether trouble lies above ("up") or below the threshold. 0 where it has been reached by now.
    """
    if toward not in ("up", "down"):
        raise ValueError(f"toward must be 'up' or 'down', not {str(toward)[:30]!r}.")
    xs = list(hours)
    line = fit_line(xs, readings)
    threshold = number("threshold", threshold, at_least=-1e9, at_most=1e9)
    start = max(float(x) for x in xs) if now is None else number("now", now, at_least=-1e9, at_most=1e9)
    span = max(float(x) for x in xs) - min(float(x) for x in xs)
    found = [_first(line, threshold, start, span * _FURTHEST, toward == "up", level, which) for which in (1, 0, -1)]
    return Crossing(found[0], found[1], found[2], level, line)


def _first(
    line: Line, threshold: float, start: float, furthest: float, up: bool, level: float, which: int
) -> float | None:
    """Hours from start until the near (1), middle (0) or far (-1) end of the prediction reaches the threshold.

    With d from the mean of x, the end meets the threshold where (m + slope d)^2 = T^2 (1 + 1/n + d^2/spread).
    """
    sign = 1.0 if up else -1.0
    reach = line.t(level) * line.residual_sd * which
    k = 1 + 1 / line.n
    m = line.at(line.x_mean) - threshold
    d = start - line.x_mean
    if sign * (m + line.slope * d) + reach * math.sqrt(k + d * d / line.x_spread) >= 0:
        return 0.0
    if reach == 0:  # the line itself: both roots are one, and rounding may leave none
        root = -m / line.slope if sign * line.slope > 0 else math.inf
        return root - d if root <= d + furthest else None
    a = line.slope**2 - reach**2 / line.x_spread
    half_b = m * line.slope
    c = m * m - reach * reach * k
    for root in sorted(_roots(a, half_b, c)):
        # squaring brought in the other end's crossing too: this end's has the sign of its own reach
        right_end = sign * (m + line.slope * root) * which <= 0
        if right_end and d < root <= d + furthest:
            return root - d
    return None


def _roots(a: float, half_b: float, c: float) -> list[float]:
    """Real roots of a x^2 + 2 half_b x + c, without losing digits to a small difference."""
    left = half_b * half_b - a * c
    if left < 0:
        return []
    q = -(half_b + math.copysign(math.sqrt(left), half_b))
    return [top / bottom for top, bottom in ((q, a), (c, q)) if bottom != 0]
