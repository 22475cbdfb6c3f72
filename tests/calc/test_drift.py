"""Charts and lines: plain reasoning, refusals, and what always holds."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.drift import cusum_chart, ewma_chart, fit_line


def test_a_steady_reading_never_leaves_the_chart() -> None:
    assert not any(point.out for point in ewma_chart([5.0] * 30, 5, 0.1))
    assert not any(point.out for point in cusum_chart([5.0] * 30, 5, 0.05, 0.4))


def test_a_shift_is_found_and_by_the_side_it_went() -> None:
    shifted = [5.0] * 10 + [5.15] * 20
    assert ewma_chart(shifted, 5, 0.1)[-1].out
    found = cusum_chart(shifted, 5, 0.05, 0.4)
    assert found[-1].out
    assert found[-1].high_sum > 0.4
    assert found[-1].low_sum == 0
    down = cusum_chart([5.0] * 10 + [4.85] * 20, 5, 0.05, 0.4)[-1]
    assert down.low_sum == pytest.approx(found[-1].high_sum)


def test_limits_widen_from_the_start_to_the_long_run() -> None:
    points = ewma_chart([5.0] * 60, 5, 1)
    widths = [point.high - point.low for point in points]
    assert widths == sorted(widths)
    assert widths[0] == pytest.approx(2 * 3 * 0.3)
    steady = ewma_chart([5.0], 5, 1, from_start=False)[0]
    assert widths[-1] == pytest.approx(steady.high - steady.low)


def test_with_all_the_weight_it_is_the_plain_chart() -> None:
    points = ewma_chart([4, 9], 5, 1, weight=1)
    assert [point.ewma for point in points] == [4, 9]
    assert [point.out for point in points] == [False, True]
    assert points[0].high == pytest.approx(8)


def test_no_readings_no_points() -> None:
    assert ewma_chart([], 5, 1) == []
    assert cusum_chart([], 5, 1, 4) == []


def test_points_on_a_line_are_that_line() -> None:
    line = fit_line([1, 2, 3, 4], [3, 5, 7, 9])
    assert (line.intercept, line.slope) == pytest.approx((1, 2))
    assert line.residual_sd == pytest.approx(0, abs=1e-12)
    assert line.r2 == pytest.approx(1)
    assert line.prediction(10) == pytest.approx((21, 21, 21))


def test_one_more_reading_is_less_sure_than_the_line_and_both_less_sure_further_out() -> None:
    line = fit_line([1, 2, 3, 4, 5], [3.1, 4.8, 7.2, 9.1, 10.8])
    near, far = line.prediction(3), line.prediction(30)
    mean = line.mean_interval(3)
    assert near.low < mean.low < near.middle == mean.middle < mean.high < near.high
    assert far.high - far.low > near.high - near.low
    assert line.prediction(3, 0.99).high > near.high


def test_a_level_row_is_explained_in_full() -> None:
    line = fit_line([1, 2, 3], [4, 4, 4])
    assert (line.slope, line.r2, line.residual_sd) == (0, 1, 0)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: ewma_chart([1, math.nan], 5, 1), r"values\[1\]"),
        (lambda: ewma_chart([1], 5, 0), "sd"),
        (lambda: ewma_chart([1], 5, 1, weight=0), "weight"),
        (lambda: cusum_chart([1], 5, -1, 4), "slack"),
        (lambda: cusum_chart([1], 5, 1, 0), "limit"),
        (lambda: fit_line([1, 2], [1, 2]), "x"),
        (lambda: fit_line([1, 2, 3], [1, 2, 3, 4]), "y"),
        (lambda: fit_line([2, 2, 2], [1, 2, 3]), "x"),
        (lambda: fit_line([1, 2, 3], [1, 2, 3]).prediction(math.inf), "x"),
        (lambda: fit_line([1, 2, 3], [1, 2, 3]).prediction(1, 1), "level"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()


reading = st.floats(-1e6, 1e6)


@given(values=st.lists(reading, max_size=40), target=reading, sd=st.floats(1e-6, 1e6), weight=st.floats(0.01, 1))
def test_charts_are_finite(values: list[float], target: float, sd: float, weight: float) -> None:
    for point in ewma_chart(values, target, sd, weight=weight):
        assert all(math.isfinite(each) for each in (point.ewma, point.low, point.high))
        assert point.low < point.high
    for sums in cusum_chart(values, target, sd / 2, 4 * sd):
        assert sums.high_sum >= 0
        assert sums.low_sum >= 0
        assert math.isfinite(sums.high_sum + sums.low_sum)


@given(points=st.lists(st.tuples(reading, reading), min_size=3, max_size=40, unique_by=lambda point: round(point[0])))
def test_a_line_is_finite_and_passes_through_the_middle(points: list[tuple[float, float]]) -> None:
    line = fit_line([x for x, _ in points], [y for _, y in points])
    y_mean = math.fsum(y for _, y in points) / len(points)
    assert line.at(line.x_mean) == pytest.approx(y_mean, rel=1e-6, abs=1e-3)
    low, middle, high = line.prediction(123.0)
    assert math.isfinite(low + high)
    assert low <= middle <= high
    assert 0 <= line.r2 <= 1
