"""Nitrogen that went and that nothing explains, told by the gauge, the sides cut, and what a room is used to take."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist, median

from shop.calc.bounds import number
from shop.calc.drift import Estimate
from shop.calc.gas.lasting import NORMAL_SPREAD

#: By fewer steps from one reading to the next than these nothing is known of a room's own use. Our own judgement.
FEWEST_STEPS = 8
#: A side may take so many times the shop's own figure while the gauge has not told better. Our own judgement.
STATED_TIMES = 3.0
#: What rounding to the next 5 bar adds to a reading, a standard deviation: a gauge is read coarsely, as long as nothing
#: tells how it is read here.
ROUNDED_BAR = 5 / math.sqrt(12)
#: So many standard deviations of what is known to stray go unremarked. Our own judgement: seldom by chance.
BEYOND = 4.0
#: A pair that stands out by nearly as much as another does as well: a reading's error is no part of a loss.
_NEARLY = 0.9
_NINE_IN_TEN_BELOW = NormalDist().inv_cdf(0.9)


@dataclass(frozen=True)
class Stood:
    """What one reading of a gauge says: on which day (a number, with its part), after how many sides, grams there were.

    gauge_g: what an error of the gauge of one standard deviation comes to, bar_g: one of 1 bar; warm_g: the same of the
    temperature. All in grams, not below 0.
    """

    day: float
    sides: int
    grams: float
    gauge_g: float
    bar_g: float
    warm_g: float


@dataclass(frozen=True)
class GasHabit:
    """What a room takes, in grams: a side in the middle and at most, and from one reading to the next besides.

    spread_g: how far a step strays from that, a standard deviation; None where too little is known of it.
    """

    side_g: float
    side_most_g: float
    other_g: float = 0.0
    spread_g: float | None = None

    @property
    def is_learnt(self) -> bool:
        return self.spread_g is not None


def gas_habit(runs: Iterable[Sequence[Stood]], per_side: Estimate | None, stated_side_g: float) -> GasHabit:
    """What readings of the gauge tell of a room's use, one run for each cylinder, in order of time.

    per_side: as `gas_pace` tells it; else the shop's own figure (0 for none) up to STATED_TIMES. What goes besides the
    sides is the middle of all steps. How far they stray is told by the median of what they stray by, or by the step
    that one in ten goes beyond, whichever is more: so a room that now and then blows something off is known to, while
    single losses move nothing.
    """
    stated = number("stated_side_g", stated_side_g, at_least=0, at_most=1e6)
    side, most = (stated, STATED_TIMES * stated) if per_side is None else (per_side.middle, per_side.high)
    besides = [
        was.grams - now.grams - side * max(0, now.sides - was.sides) for run in runs for was, now in pairwise(run)
    ]
    if len(besides) < FEWEST_STEPS:
        return GasHabit(side, most)
    middle = median(besides)
    spread = NORMAL_SPREAD * median(abs(each - middle) for each in besides)
    one_in_ten = sorted(besides)[len(besides) - 1 - len(besides) // 10]
    return GasHabit(side, most, max(0.0, middle), max(spread, (one_in_ten - middle) / _NINE_IN_TEN_BELOW))


@dataclass(frozen=True)
class GasLoss:
    """More gas went between two readings of a run, by their places in it, than is explained.

    gone_g: all that went; sides: cut in between; used_g: what these and the room's other uses take; allowed_g: what the
    errors of both readings and the room's straying may come to besides.
    """

    first: int
    last: int
    gone_g: float
    sides: int
    used_g: float
    allowed_g: float

    @property
    def unexplained_g(self) -> float:
        return self.gone_g - self.used_g


def _between(run: Sequence[Stood], first: int, last: int, habit: GasHabit) -> GasLoss:
    was, now = run[first], run[last]
    sides, steps = max(0, now.sides - was.sides), last - first
    variance = sum(_off_g(each, habit) ** 2 for each in (was, now)) + steps * (habit.spread_g or 0.0) ** 2
    return GasLoss(
        first,
        last,
        gone_g=was.grams - now.grams,
        sides=sides,
        used_g=sides * habit.side_g + steps * habit.other_g,
        allowed_g=BEYOND * math.sqrt(variance) + sides * max(0.0, habit.side_most_g - habit.side_g),
    )


def _off_g(stood: Stood, habit: GasHabit) -> float:
    """How far the grams of one reading may be off, a standard deviation; rounding counts while nothing is learnt."""
    rounded = 0.0 if habit.is_learnt else ROUNDED_BAR * stood.bar_g
    return math.hypot(stood.gauge_g, stood.warm_g, rounded)


def gas_losses(run: Sequence[Stood], habit: GasHabit) -> list[GasLoss]:
    """The losses in one cylinder's readings, in order of time. They may end where the next begins, and overlap nowhere.

    Each reading is held against all earlier ones since the last loss, so that one that came bit by bit shows as well;
    told is the shortest stretch of those that stand out most. Sides count up from any number.
    """
    found: list[GasLoss] = []
    start = 0
    for last in range(1, len(run)):
        over = [each for each in (_between(run, first, last, habit) for first in range(start, last)) if _is_loss(each)]
        if over:
            most = max(map(_stands_out, over))
            found.append(next(each for each in reversed(over) if _stands_out(each) >= _NEARLY * most))
            start = last
    return found


def _stands_out(pair: GasLoss) -> float:
    return pair.unexplained_g / pair.allowed_g


def _is_loss(pair: GasLoss) -> bool:
    return pair.unexplained_g > pair.allowed_g > 0


def without_losses(run: Sequence[Stood], losses: Iterable[GasLoss]) -> list[Sequence[Stood]]:
    """The pieces of a run before, between and after its losses: what is left to tell the room's pace by."""
    pieces: list[Sequence[Stood]] = []
    start = 0
    for loss in losses:
        pieces.append(run[start : loss.first + 1])
        start = loss.last
    return [*pieces, run[start:]]
