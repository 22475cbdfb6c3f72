"""How fast a room uses its nitrogen, told by the gauge, and for how long what is left lasts."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist, median

from shop.calc.bounds import chance, number, whole
from shop.calc.drift import Estimate, robust_slope

#: A day further off than that is not told.
LONGEST_DAYS = 400
#: By fewer gauge readings or sides than these, the shop's own figure counts. Our own judgement.
FEWEST_READINGS, FEWEST_SIDES = 4, 6
#: A figure that somebody wrote down is taken to be right within this factor, nine times in ten. Our own judgement.
STATED_WITHIN = 1.5
#: A standard deviation over the median of what strays normally.
NORMAL_SPREAD = 1.4826
_NINE_IN_TEN = NormalDist().inv_cdf(0.95)
#: The variance of a line's slope through a sum of independent steps, over that of the sum's own mean step.
_LINE_ON_STEPS = 6 / 5


@dataclass(frozen=True)
class Gauged:
    """What one gauge reading says: on which day (a number, with its part), after how many sides, grams there were."""

    day: float
    sides: int
    grams: float


@dataclass(frozen=True)
class GasPace:
    """What a side and a day take, in grams, as the gauge tells.

    per_side, per_day: each of all that went, by a robust slope, nine times in ten between low and high; the day's holds
    what leaks at night too. None where there is too little to go by, or where nothing went. scatter_g: how far one
    side's use strays, a standard deviation, the reading of the gauge included. readings, sides: what it rests on.
    """

    per_side: Estimate | None
    per_day: Estimate | None
    scatter_g: float
    readings: int
    sides: int


def gas_pace(runs: Iterable[Sequence[Gauged]]) -> GasPace:
    """The pace told by gauge readings, one run for each cylinder, in order of time.

    Sides in a run count up from any number. Readings with more gas than the one before (a gauge misread, or read
    warmer) stay in: the slope is the middle of many. What single sides stray by adds up from reading to reading, of
    which Sen's interval knows nothing; so the interval is the wider of Sen's and that of a sum of such steps.
    """
    kept = [list(run) for run in runs if len(run) > 1]
    readings = sum(len(run) for run in kept)
    sides = sum(run[-1].sides - run[0].sides for run in kept)
    if readings < FEWEST_READINGS:
        return GasPace(None, None, 0.0, readings, sides)
    per_day, _ = _pace([[(at.day, at.grams) for at in run] for run in kept])
    per_side, scatter = None, 0.0
    if sides >= FEWEST_SIDES:
        per_side, scatter = _pace([[(float(at.sides), at.grams) for at in run] for run in kept])
    return GasPace(per_side, per_day, scatter, readings, sides)


def _pace(runs: Sequence[Sequence[tuple[float, float]]]) -> tuple[Estimate | None, float]:
    """What goes for each one of x, and how far that strays; None where nothing goes, as far as can be told."""
    slope = robust_slope(runs)
    if slope is None or slope.middle >= 0:
        return None, 0.0
    used = -slope.middle
    strays = [
        abs(was_y - now_y - used * (now_x - was_x)) / math.sqrt(now_x - was_x)
        for run in runs
        for (was_x, was_y), (now_x, now_y) in pairwise(run)
        if now_x > was_x
    ]
    scatter = NORMAL_SPREAD * median(strays) if strays else 0.0
    covered = sum(run[-1][0] - run[0][0] for run in runs)
    reach = _NINE_IN_TEN * scatter * math.sqrt(_LINE_ON_STEPS / covered)
    return Estimate(max(0.0, min(-slope.high, used - reach)), used, max(-slope.low, used + reach)), scatter


@dataclass(frozen=True)
class GasLasts:
    """In how many whole days from today so much gas is used up: in the middle, and nine times in ten between the ends.

    0 is today; None further off than LONGEST_DAYS. by_bookings: what is booked decides, not the usual pace.
    """

    soonest: int | None
    likely: int | None
    latest: int | None
    by_bookings: bool


def gas_lasts(
    usable_g: float,
    booked: Mapping[int, int],
    pace: GasPace,
    *,
    stated_side_g: float,
    gauge_sd_g: float = 0.0,
    level: float = 0.9,
) -> GasLasts | None:
    """For how long so many grams last against booked sides and the usual pace, whichever needs more by then.

    booked: sides by the number of days from today, 0 or more. A side takes what `pace` says, or else stated_side_g (0
    for none). gauge_sd_g: how far the grams may be off, a standard deviation. The interval carries the error of the
    gauge, of the pace and of single sides, as parts of the whole, independent and log-normal. None where there is
    nothing to reckon by: no pace, and no booking or no figure.
    """
    usable = number("usable_g", usable_g, at_least=0, at_most=1e9)
    stated = number("stated_side_g", stated_side_g, at_least=0, at_most=1e6)
    error = number("gauge_sd_g", gauge_sd_g, at_least=0, at_most=1e9)
    z = NormalDist().inv_cdf((1 + chance("level", level)) / 2)
    sides = {whole("day", day, at_least=0, at_most=100_000): many for day, many in booked.items()}
    side, side_off = (stated, math.log(STATED_WITHIN) / _NINE_IN_TEN)
    if pace.per_side is not None:
        side, side_off = pace.per_side.middle, _relative_sd(pace.per_side)
    a_day = pace.per_day.middle if pace.per_day is not None else 0.0
    if a_day <= 0 and (side <= 0 or not sides):
        return None
    if usable <= 0:
        return GasLasts(0, 0, 0, by_bookings=bool(sides) and side > 0)
    many = usable / side if side > 0 else 0.0
    parts = (error / usable, side_off, pace.scatter_g / side / math.sqrt(max(many, 1.0)) if side > 0 else 0.0)
    if pace.per_day is not None:
        parts = (*parts[:1], max(side_off if sides else 0.0, _relative_sd(pace.per_day)), *parts[2:])
    factor = math.exp(z * math.sqrt(sum(part * part for part in parts)))
    likely, by_bookings = _used_up(usable, sides, side, a_day)
    return GasLasts(
        soonest=_used_up(usable / factor, sides, side, a_day)[0],
        likely=likely,
        latest=_used_up(usable * factor, sides, side, a_day)[0],
        by_bookings=by_bookings,
    )


def _relative_sd(told: Estimate) -> float:
    """How far a slope may be off as a part of it, of its interval at nine in ten."""
    return max(0.0, told.high - told.low) / (2 * _NINE_IN_TEN * told.middle)


def _used_up(usable: float, sides: Mapping[int, int], side: float, a_day: float) -> tuple[int | None, bool]:
    """The day on which so much is used up, and whether by what is booked."""
    by_sides = 0.0
    for day in range(LONGEST_DAYS + 1):
        by_sides += side * sides.get(day, 0)
        if by_sides >= usable:
            return day, True
        if a_day * (day + 1) >= usable:
            return day, False
    return None, False
