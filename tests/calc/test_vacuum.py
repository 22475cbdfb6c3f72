"""The vacuum line's charts and patterns, held to their design by simulation."""

from collections.abc import Callable, Iterator
from random import Random
from statistics import fmean, median

import pytest

from shop.calc.drift import cusum_chart, ewma_chart
from shop.calc.runs import cusum_run_length, ewma_run_length
from shop.calc.vacuum import (
    BACK,
    FEWEST,
    GOOD,
    LIMIT,
    PATTERNS,
    RUN_LENGTH,
    SLACK,
    WEIGHT,
    WIDTH,
    Baseline,
    Fault,
    Point,
    Way,
    baseline_of,
    drifted,
    suspects,
    widened,
)
from tests.calc.vacuum_line import Line

#: Readings in a year: one each working day.
A_YEAR = 250
SD = 0.35


def first_signal(values: Iterator[float], baseline: Baseline, most: int) -> int | None:
    """After how many readings either chart signals, both kept up reading by reading; None for not within `most`."""
    factor, more = widened(baseline.count)
    spread = baseline.sd * factor
    reach = WIDTH * factor * baseline.sd * (WEIGHT / (2 - WEIGHT)) ** 0.5
    smoothed, high, low = baseline.target, 0.0, 0.0
    for place in range(1, most + 1):
        off = next(values) - baseline.target
        smoothed += WEIGHT * (off + baseline.target - smoothed)
        high = max(0.0, high + off - (SLACK + more) * spread)
        low = max(0.0, low - off - (SLACK + more) * spread)
        if abs(smoothed - baseline.target) > reach or max(high, low) > LIMIT * spread:
            return place
    return None


def noise(rng: Random, middle: float, sd: float = SD) -> Iterator[float]:
    while True:
        yield rng.gauss(middle, sd)


def test_the_quick_sums_of_this_test_are_those_of_the_charts() -> None:
    rng = Random(2)
    for drift in (0.0, 0.02, 0.2):
        values = [rng.gauss(14.5 - drift * place, SD) for place in range(120)]
        baseline = Baseline(14.5, SD, GOOD)
        told = next((n for n in range(1, 121) if drifted(values[:n], baseline).is_out), None)
        assert first_signal(iter(values), baseline, 120) == told


def test_each_chart_runs_as_long_as_it_was_designed_to() -> None:
    """The design by Markov chain, and the charts themselves against it, the baseline known exactly."""
    assert ewma_run_length(WEIGHT, WIDTH) == pytest.approx(RUN_LENGTH, rel=0.06)
    assert cusum_run_length(SLACK, LIMIT) == pytest.approx(RUN_LENGTH, rel=0.06)
    rng = Random(11)
    for chart in ("ewma", "cusum"):
        lengths = []
        for _ in range(120):
            values = [rng.gauss(0, 1) for _ in range(6000)]
            points = (
                ewma_chart(values, 0, 1, weight=WEIGHT, width=WIDTH, from_start=False)
                if chart == "ewma"
                else cusum_chart(values, 0, SLACK, LIMIT)
            )
            lengths.append(next((n for n, point in enumerate(points, start=1) if point.out), 6000))
        assert fmean(lengths) == pytest.approx(RUN_LENGTH, rel=0.25), chart


@pytest.mark.parametrize("count", [FEWEST, GOOD, 60])
def test_a_quiet_line_gives_few_false_signals_however_few_readings_its_baseline_has(count: int) -> None:
    """At most those of the design, two charts at one in RUN_LENGTH each: one in two years at a point read daily."""
    rng, signals, years = Random(count), 0, 240
    for _ in range(years):
        baseline = baseline_of([rng.gauss(14.5, SD) for _ in range(count)])
        left = A_YEAR
        while left > 0 and (after := first_signal(noise(rng, 14.5), baseline, left)) is not None:
            signals, left = signals + 1, left - after
    rate = signals / years
    print(f"baseline of {count}: {rate:.2f} false signals a year at a point read once a working day")
    assert rate <= 2 * A_YEAR / RUN_LENGTH


STEPS: list[tuple[str, Callable[[Line], Line], Point, int]] = [
    ("hose half blocked", lambda line: line.with_hose(2.0), Point.HOSE, 2),
    ("hose a third blocked", lambda line: line.with_hose(1.3), Point.HOSE, 3),
    ("leak at the platter", lambda line: line.with_leak(4.0), Point.PLATTER, 2),
    ("filter clogged", lambda line: line.with_filter(3.0), Point.HOSE, 5),
    ("pump down a tenth", lambda line: line.with_pump(0.9), Point.PLATTER, 2),
]


@pytest.mark.parametrize(("name", "fault", "point", "within"), STEPS, ids=[step[0] for step in STEPS])
def test_what_comes_at_once_is_found_within_days(
    name: str, fault: Callable[[Line], Line], point: Point, within: int
) -> None:
    rng, clean, delays = Random(5), Line().suction(), []
    amiss = fault(Line()).suction()
    for _ in range(200):
        baseline = baseline_of([rng.gauss(clean[point], SD) for _ in range(GOOD)])
        delays.append(first_signal(noise(rng, amiss[point]), baseline, A_YEAR))
    assert None not in delays
    told = median(delay for delay in delays if delay is not None)
    print(f"{name}: {clean[point]:.1f} to {amiss[point]:.1f} kPa, found after {told:g} readings (median)")
    assert told <= within


def test_what_clogs_slowly_is_found_before_a_tenth_of_the_suction_is_gone() -> None:
    rng, clean, lost, days = Random(7), Line().suction()[Point.HOSE], [], []
    course = [Line().with_hose(1.01**day).suction()[Point.HOSE] for day in range(1, 200)]
    for _ in range(200):
        baseline = baseline_of([rng.gauss(clean, SD) for _ in range(GOOD)])
        after = first_signal((rng.gauss(middle, SD) for middle in course), baseline, len(course))
        assert after is not None
        days.append(after)
        lost.append(1 - course[after - 1] / clean)
    print(f"hose clogging by 1 % a day: found after {median(days):g} days, {100 * median(lost):.1f} % of it lost")
    assert median(lost) < 0.1
    assert sorted(lost)[189] < 0.13


@pytest.mark.parametrize(("off", "within"), [(1.0, 4), (4.0, 10), (12.0, 14)])
def test_a_point_that_is_clean_again_is_quiet_again(off: float, within: int) -> None:
    """Eight readings amiss, off by so many standard deviations, then clean ones."""
    rng, waits = Random(13), []
    for _ in range(200):
        baseline = baseline_of([rng.gauss(14.5, SD) for _ in range(GOOD)])
        values = [rng.gauss(14.5 - off * SD, SD) for _ in range(8)]
        while not drifted(values, baseline).is_out and len(values) < 100:
            values.append(rng.gauss(14.5 - off * SD, SD))
        clean = 0
        while drifted(values, baseline).is_out and clean < 100:
            values.append(rng.gauss(14.5, SD))
            clean += 1
        waits.append(clean)
    print(f"off by {off:g} sd: quiet after {median(waits):g} clean readings (median), {sorted(waits)[189]} in 95 %")
    assert median(waits) <= within
    assert sorted(waits)[189] <= 2 * within


def test_what_stays_amiss_stays_told() -> None:
    """A shift worth finding, twice SLACK, that nobody puts right: told at nine readings in ten from then on."""
    assert 2 * cusum_run_length(SLACK, BACK) > 300  # a CUSUM turned round takes it for clean once in so many readings
    rng, told, readings = Random(17), 0, 0
    for _ in range(60):
        values = [rng.gauss(14.5 - 2 * SLACK * SD, SD) for _ in range(A_YEAR)]
        charts = drifted(values, Baseline(14.5, SD, 10_000))
        out = [e.out or c.out for e, c in zip(charts.ewma, charts.cusum, strict=True)]
        after = out[out.index(True) :]
        told, readings = told + sum(after), readings + len(after)
    print(
        f"off by {2 * SLACK:g} sd for a year: told at {100 * told / readings:.1f} % of readings after the first signal"
    )
    assert told / readings > 0.9


def test_what_was_is_told_apart_from_what_is() -> None:
    """Eight readings at 11.5 kPa, then twelve of a clean line at 14.4."""
    baseline = Baseline(14.3, 0.2, 20)
    amiss = drifted([14.3] * 5 + [11.5] * 8, baseline)
    assert (amiss.way, amiss.since, amiss.strayed) == (Way.DOWN, 5, None)
    again = drifted([14.3] * 5 + [11.5] * 8 + [14.4] * 12, baseline)
    assert (again.way, again.is_out, again.since, again.is_step) == (Way.QUIET, False, None, False)
    assert again.strayed is not None
    first, last = again.strayed
    assert first == 5
    assert 13 <= last < 25
    later = drifted([14.3] * 5 + [11.5] * 8 + [14.4] * 12 + [11.5] * 3, baseline)
    assert (later.way, later.since, later.is_step) == (Way.DOWN, 25, True)


def test_a_sum_begins_anew_only_after_what_speaks_for_the_target() -> None:
    """By hand: slack 1, limit 3, back 2; target 0."""
    values = [5.0, 0.0, -0.5, 0.0, 2.0]
    kept = cusum_chart(values, 0, 1, 3)
    assert [point.high_sum for point in kept] == [4.0, 3.0, 1.5, 0.5, 1.5]
    values = [9.0, 0.0, 0.0, 0.0, 2.0]
    assert [point.high_sum for point in cusum_chart(values, 0, 1, 3)] == [8.0, 7.0, 6.0, 5.0, 6.0]
    again = cusum_chart(values, 0, 1, 3, back=2)
    assert [point.high_sum for point in again] == [8.0, 7.0, 6.0, 0.0, 1.0]
    assert [point.out for point in again] == [True, True, True, False, False]
    amiss = cusum_chart([9.0, 0.0, 3.0, 0.0, 3.0], 0, 1, 3, back=2)  # what speaks against it counts too
    assert [point.out for point in amiss] == [True] * 5


def ways_of(rng: Random, amiss: dict[Point, float], readings: int) -> tuple[dict[Point, Way], dict[Point, float]]:
    clean = Line().suction()
    ways, shares = {}, {}
    for point in Point:
        baseline = baseline_of([rng.gauss(clean[point], SD) for _ in range(GOOD)])
        found = drifted([rng.gauss(amiss[point], SD) for _ in range(readings)], baseline)
        ways[point], shares[point] = found.way, found.share
    return ways, shares


FAULTS: list[tuple[Fault, Callable[[Line], Line]]] = [
    (Fault.BLOCKED_PICK_UP, lambda line: line.with_pick_up(2.0)),
    (Fault.BLOCKED_HOSE, lambda line: line.with_hose(2.5)),
    (Fault.FULL_FILTER, lambda line: line.with_filter(5.0)),
    (Fault.LEAK_AT_PLATTER, lambda line: line.with_leak(4.0)),
    (Fault.TIRED_PUMP, lambda line: line.with_pump(0.85)),
]


@pytest.mark.parametrize(("fault", "apply"), FAULTS, ids=[fault for fault, _ in FAULTS])
def test_a_line_with_four_gauges_says_which_it_is(fault: Fault, apply: Callable[[Line], Line]) -> None:
    """Ten mornings after it came about, the first suspect is the fault in nine lines of ten."""
    rng, right = Random(3), 0
    for _ in range(100):
        found = suspects(*ways_of(rng, apply(Line()).suction(), 10))
        right += bool(found) and found[0].fault is fault
    print(f"{fault}: named first in {right} of 100 lines")
    assert right >= 90


@pytest.mark.parametrize(("fault", "apply"), FAULTS, ids=[fault for fault, _ in FAULTS])
def test_the_patterns_are_those_of_resistances_in_a_row(fault: Fault, apply: Callable[[Line], Line]) -> None:
    clean, amiss = Line().suction(), apply(Line()).suction()
    for point in Point:
        change = amiss[point] - clean[point]
        way = Way.QUIET if abs(change) < 0.15 else Way.UP if change > 0 else Way.DOWN
        assert way in PATTERNS[fault][point] or (abs(change) < 0.5 and Way.QUIET in PATTERNS[fault][point]), point


def test_with_two_gauges_it_says_what_it_cannot_tell_apart_and_what_would() -> None:
    found = suspects({Point.HOSE: Way.DOWN, Point.PLATTER: Way.QUIET}, {Point.HOSE: 0.8, Point.PLATTER: 1.0})
    assert [each.fault for each in found] == [Fault.BLOCKED_HOSE]
    both = suspects({Point.HOSE: Way.DOWN, Point.PLATTER: Way.DOWN}, {Point.HOSE: 0.85, Point.PLATTER: 0.85})
    assert {each.fault for each in both} >= {Fault.FULL_FILTER, Fault.TIRED_PUMP}
    assert both[0].unread == (Point.TRAP, Point.PUMP)
    assert suspects({Point.HOSE: Way.QUIET}, {}) == []
    assert [each.fault for each in suspects({Point.HOSE: Way.UP}, {})] == [Fault.BLOCKED_PICK_UP]
    assert suspects({Point.HOSE: Way.QUIET, Point.PLATTER: Way.UP}, {}) == []


def test_a_step_is_told_from_a_drift() -> None:
    baseline = Baseline(14.5, 0.3, 40)
    quiet = [14.5, 14.6, 14.3, 14.5, 14.4, 14.7] * 4
    at_once = drifted([*quiet, 11.5, 11.4], baseline)
    slowly = drifted([14.5 - 0.07 * place for place in range(40)], baseline)
    assert (at_once.way, at_once.is_step) == (Way.DOWN, True)
    assert (slowly.way, slowly.is_step) == (Way.DOWN, False)
    assert at_once.since == 24
    assert drifted(quiet, baseline).since is None


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="values"):
        baseline_of([14.5] * (FEWEST - 1))
    with pytest.raises(ValueError, match="values"):
        drifted([], Baseline(14.5, 0.3, 40))
    with pytest.raises(ValueError, match="sd"):
        drifted([1.0], Baseline(14.5, 0.0, 40))
    assert baseline_of([14.5] * 8).sd > 0  # a dial that never moves is still read with an error
    with pytest.raises(ValueError, match="weight"):
        ewma_run_length(1.0, 3.0)
    with pytest.raises(ValueError, match="limit"):
        cusum_run_length(0.5, 0.0)
