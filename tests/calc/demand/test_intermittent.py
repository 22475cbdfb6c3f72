"""Croston, SBA and TSB: what they do with empty weeks, and the back-test that compares them."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.demand import back_test, croston, sba, tsb


def test_with_demand_every_period_all_are_smoothing() -> None:
    counts = [4, 6, 5, 5]
    smoothed = 4.0
    for count in counts[1:]:
        smoothed = 0.2 * count + 0.8 * smoothed
    assert croston(counts, 0.2).forecast == pytest.approx(smoothed)
    assert tsb(counts, 0.2).forecast == pytest.approx(smoothed)
    assert sba(counts, 0.2).forecast == pytest.approx(0.9 * smoothed)


def test_with_no_demand_nothing_is_foretold() -> None:
    for method in (croston, sba, tsb):
        found = method([0, 0, 0])
        assert found.forecast == 0
        assert found.fits == (0, 0)


def test_only_tsb_forgets_what_is_no_longer_asked_for() -> None:
    lively, dead = [2, 0, 2, 0, 2], [2, 0, 2, 0, 2, *[0] * 30]
    assert croston(dead).forecast == croston(lively).forecast
    assert tsb(dead).forecast < 0.1 * tsb(lively).forecast


def test_a_fit_knows_only_what_came_before() -> None:
    counts = [0, 3, 0, 0, 2, 1, 0]
    for method in (croston, sba, tsb):
        found = method(counts)
        assert found.fits == tuple(method(counts[:at]).forecast for at in range(1, len(counts)))


def test_back_testing_is_told_the_past_only() -> None:
    told: list[int] = []

    def last(past: object) -> float:
        told.append(len(past))  # type: ignore[arg-type]
        return past[-1]  # type: ignore[index, no-any-return]

    found = back_test([1, 2, 4, 4], last, warm_up=1)
    assert told == [1, 2, 3]
    assert (found.n, found.bias, found.mean_error) == (3, -1, 1)
    assert found.rms_error == pytest.approx((5 / 3) ** 0.5)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: croston([]), "counts"),
        (lambda: croston([1, -1]), r"counts\[1\]"),
        (lambda: sba([1], 0), "weight"),
        (lambda: tsb([1], 0.1, 2), "probability_weight"),
        (lambda: back_test([1, 2], lambda past: 1, warm_up=2), "warm_up"),
        (lambda: back_test([1, 2, 3], lambda past: float("nan"), warm_up=1), "forecast"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()


@given(counts=st.lists(st.floats(0, 1e6), min_size=1, max_size=60), weight=st.floats(0.001, 1))
def test_no_forecast_leaves_the_range_of_what_was_asked_for(counts: list[float], weight: float) -> None:
    for found in (croston(counts, weight), sba(counts, weight), tsb(counts, weight, weight)):
        assert 0 <= found.forecast <= max(counts) * (1 + 1e-9)
        assert len(found.fits) == len(counts) - 1
