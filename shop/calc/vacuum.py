"""The vacuum line: whether suction strays from what it was when clean, and which fault such a pattern speaks for.

The charts are EWMA and CUSUM (calc/drift.py). What they are set to is a design of our own: each alone runs some 1000
readings before a false signal (`RUN_LENGTH`, by calc/runs.py), so both together give at most one in two years of
working days at each point that is read once a day. The patterns follow from resistances in a row and a pump that sucks
less the more it has to carry; common sense of such lines, no source.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean, stdev

from shop.calc.bounds import number, numbers, whole
from shop.calc.drift import CusumPoint, EwmaPoint, cusum_chart, ewma_chart

#: The charts' design, in standard deviations of a clean line's readings.
WEIGHT, WIDTH = 0.2, 3.2
SLACK, LIMIT = 0.5, 5.8
#: A point that strayed is back once a CUSUM turned round says so: some eight clean readings, while one that still
#: strays by the shift worth finding is taken for clean once in some 330 (`calc/runs.py`). The smoothed value has to be
#: within its limits besides.
BACK = 4.0
#: Readings on average before either of the two charts of a quiet point signals by chance, were the baseline known
#: exactly; tests hold both to it.
RUN_LENGTH = 1000
#: By fewer readings a baseline is not made; from so many on it is a good one. Our own judgement.
FEWEST, GOOD = 6, 20
#: What a dial and the eye before it differ by from reading to reading, kPa: a baseline is not taken to be steadier.
LEAST_SD_KPA = 0.2
#: So many standard deviations at once are a step, not a drift.
STEP = 4.5


@dataclass(frozen=True)
class Baseline:
    """What a point showed when the line was clean: mean and standard deviation of so many readings, in kPa."""

    target: float
    sd: float
    count: int


def baseline_of(values: Sequence[float]) -> Baseline:
    """The baseline that readings of a clean line make. ValueError for fewer than FEWEST."""
    kept = numbers("values", values, fewest=FEWEST, at_least=0, at_most=200)
    return Baseline(fmean(kept), max(stdev(kept), LEAST_SD_KPA), len(kept))


class Way(StrEnum):
    """Where a point's suction went."""

    DOWN = "down"
    QUIET = "quiet"
    UP = "up"


@dataclass(frozen=True)
class Drifted:
    """A point's charts at its last reading. since: the place of the first reading of the present signal, if any.

    share: the smoothed suction over the baseline; is_step: it went at once, not bit by bit. strayed: of a point that is
    quiet now, the first and the last place of the signal before, if there was one.
    """

    baseline: Baseline
    ewma: tuple[EwmaPoint, ...]
    cusum: tuple[CusumPoint, ...]
    way: Way
    since: int | None
    is_step: bool
    share: float
    strayed: tuple[int, int] | None = None

    @property
    def is_out(self) -> bool:
        return self.way is not Way.QUIET


def widened(count: int) -> tuple[float, float]:
    """By how much limits and slack have to grow for a baseline of so many readings, which is itself uncertain.

    The first is a factor: of Student's t over the normal at one in a thousand, for the standard deviation, and of the
    mean's own error on an EWMA. The second adds to the slack: a standard error of the mean. Both vanish as it grows.
    """
    from scipy.special import ndtri, stdtrit

    n = whole("count", count, at_least=2, at_most=1_000_000)
    spread = float(stdtrit(n - 1, 0.999)) / float(ndtri(0.999))
    settled = WEIGHT / (2 - WEIGHT)
    return spread * math.sqrt(1 + 1 / n / settled), 1 / math.sqrt(n)


def drifted(values: Sequence[float], baseline: Baseline) -> Drifted:
    """The charts of readings since the line was last cleaned, oldest first, against its baseline.

    ValueError without readings, or for a baseline that is none.
    """
    kept = numbers("values", values, fewest=1, at_least=0, at_most=200)
    target = number("target", baseline.target, at_least=0, at_most=200)
    sd = number("sd", baseline.sd, above=0, at_most=100)
    factor, more = widened(baseline.count)
    ewma = ewma_chart(kept, target, sd, weight=WEIGHT, width=WIDTH * factor, from_start=False)
    spread = sd * factor
    cusum = cusum_chart(kept, target, (SLACK + more) * spread, LIMIT * spread, back=BACK * spread)
    last_e, last_c = ewma[-1], cusum[-1]
    way = Way.QUIET
    if last_e.out:
        way = Way.DOWN if last_e.ewma < target else Way.UP
    elif last_c.out:
        way = Way.DOWN if last_c.low_sum > last_c.high_sum else Way.UP
    out = [smoothed.out or summed.out for smoothed, summed in zip(ewma, cusum, strict=True)]
    last = next((place for place in range(len(out) - 1, -1, -1) if out[place]), None)
    first = last
    while first and out[first - 1]:
        first -= 1
    since = first if out[-1] else None
    return Drifted(
        baseline=baseline,
        ewma=tuple(ewma),
        cusum=tuple(cusum),
        way=way,
        since=since,
        is_step=since is not None and _is_step(kept, ewma, since, target, spread),
        share=last_e.ewma / target if target > 0 else 1.0,
        strayed=(first, last) if since is None and first is not None and last is not None else None,
    )


def _is_step(values: list[float], ewma: list[EwmaPoint], since: int, target: float, spread: float) -> bool:
    """Whether one of the readings that led to the signal lay far from where the smoothed value stood before it."""
    for place in range(max(0, since - 2), since + 1):
        before = ewma[place - 1].ewma if place else target
        if abs(values[place] - before) > STEP * spread:
            return True
    return False


# Which fault it speaks for --------------------------------------------------------------------------------------------


class Point(StrEnum):
    """Where suction is read, from the platter and the head on to the pump."""

    PLATTER = "platter"
    HOSE = "hose"
    TRAP = "trap"
    PUMP = "pump"


class Fault(StrEnum):
    """What a pattern may mean."""

    BLOCKED_PICK_UP = "blocked_pick_up"
    BLOCKED_HOSE = "blocked_hose"
    FULL_FILTER = "full_filter"
    LEAK_AT_PLATTER = "leak_at_platter"
    TIRED_PUMP = "tired_pump"


_D, _Q, _U = Way.DOWN, Way.QUIET, Way.UP
#: Which ways each point may go under each fault, the usual one first. One pump for hold-down and chip, joined before
#: the filter, hose read at the head's end, trap before the filter, pump at its inlet.
PATTERNS: dict[Fault, dict[Point, tuple[Way, ...]]] = {
    Fault.BLOCKED_PICK_UP: {Point.PLATTER: (_Q, _U), Point.HOSE: (_U,), Point.TRAP: (_U, _Q), Point.PUMP: (_U, _Q)},
    Fault.BLOCKED_HOSE: {Point.PLATTER: (_Q, _U), Point.HOSE: (_D,), Point.TRAP: (_U, _Q), Point.PUMP: (_U, _Q)},
    Fault.FULL_FILTER: {Point.PLATTER: (_D,), Point.HOSE: (_D,), Point.TRAP: (_D,), Point.PUMP: (_U, _Q)},
    Fault.LEAK_AT_PLATTER: {
        Point.PLATTER: (_D,),
        Point.HOSE: (_Q, _D),
        Point.TRAP: (_Q, _D),
        Point.PUMP: (_Q, _D),
    },
    Fault.TIRED_PUMP: {Point.PLATTER: (_D,), Point.HOSE: (_D,), Point.TRAP: (_D,), Point.PUMP: (_D,)},
}


@dataclass(frozen=True)
class Suspect:
    """A fault that fits what was read. fits: of the points read; unread: whose reading would tell it from the others.

    fitness: 0 to 1; 1 where every point that is read goes its usual way.
    """

    fault: Fault
    fitness: float
    unread: tuple[Point, ...]


def suspects(ways: Mapping[Point, Way], shares: Mapping[Point, float]) -> list[Suspect]:
    """The faults that fit the ways the points went, the likeliest first; none while all are quiet.

    ways: of the points that are read; shares: smoothed suction over baseline, which tells a leak at the platter (its
    own suction falls most) from a pump that grows tired (all fall alike). A fault is out as soon as one point goes a
    way that it does not explain.
    """
    if all(way is Way.QUIET for way in ways.values()):
        return []
    found = []
    for fault, pattern in PATTERNS.items():
        if any(way not in pattern[point] for point, way in ways.items()):
            continue
        fitness = fmean(1.0 if way is pattern[point][0] else 0.5 for point, way in ways.items())
        found.append((fitness * _by_size(fault, ways, shares), fault))
    found.sort(key=lambda pair: (-pair[0], list(Fault).index(pair[1])))
    unread = tuple(point for point in Point if point not in ways)
    return [Suspect(fault, fitness, unread if len(found) > 1 else ()) for fitness, fault in found]


def _by_size(fault: Fault, ways: Mapping[Point, Way], shares: Mapping[Point, float]) -> float:
    """Less for a leak where others fell as much as the platter, and for a tired pump where it fell far more."""
    platter = shares.get(Point.PLATTER)
    others = [shares[point] for point in ways if point is not Point.PLATTER and point in shares]
    if platter is None or not others or fault not in (Fault.LEAK_AT_PLATTER, Fault.TIRED_PUMP):
        return 1.0
    lost, lost_elsewhere = 1 - platter, 1 - fmean(others)
    much_more = lost > 2 * max(lost_elsewhere, 0.0)
    return 1.0 if much_more == (fault is Fault.LEAK_AT_PLATTER) else 0.5
