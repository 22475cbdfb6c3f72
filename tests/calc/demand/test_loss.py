"""Loss functions: against sums and plain reasoning, and their edges."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.demand import (
    normal_loss,
    poisson_fill_rate,
    poisson_loss,
    poisson_ready_rate,
    second_normal_loss,
    unit_normal_loss,
)


def test_short_less_over_is_what_is_missing_on_average() -> None:
    loss = normal_loss(18, 15, 3)
    assert loss.over - loss.short == pytest.approx(3)
    whole = poisson_loss(18, 15)
    assert whole.over - whole.short == pytest.approx(3)


def test_the_poisson_loss_is_its_sum() -> None:
    chances = [math.exp(-4) * 4**k / math.factorial(k) for k in range(80)]
    for stock in range(12):
        loss = poisson_loss(stock, 4)
        assert loss.short == pytest.approx(sum(p * max(0, k - stock) for k, p in enumerate(chances)), abs=1e-12)
        assert loss.over == pytest.approx(sum(p * max(0, stock - k) for k, p in enumerate(chances)), abs=1e-12)


def test_the_second_loss_falls_as_fast_as_the_first_is_high() -> None:
    step = 1e-4
    slope = (second_normal_loss(18 - step, 15, 3) - second_normal_loss(18 + step, 15, 3)) / (2 * step)
    assert slope == pytest.approx(normal_loss(18, 15, 3).short, rel=1e-6)


def test_filled_is_one_less_than_ready() -> None:
    assert poisson_fill_rate(5, 3) == poisson_ready_rate(4, 3)
    assert poisson_fill_rate(0, 3) == 0
    assert poisson_ready_rate(0, 0) == 1


def test_far_out_nothing_is_left_but_the_difference() -> None:
    assert normal_loss(1e9, 0, 0.001) == (0, 1e9)
    assert normal_loss(0, 1e9, 0.001) == (1e9, 0)
    assert unit_normal_loss(50) == 0
    assert unit_normal_loss(-50) == pytest.approx(50)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: unit_normal_loss(math.nan), "z"),
        (lambda: normal_loss(1, 1, 0), "sd"),
        (lambda: normal_loss(1, -1, 1), "mean"),
        (lambda: second_normal_loss(math.inf, 1, 1), "stock"),
        (lambda: poisson_loss(-1, 3), "stock"),
        (lambda: poisson_loss(2.5, 3), "stock"),  # type: ignore[arg-type]
        (lambda: poisson_fill_rate(2, -3), "mean"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must be"):
        ask()


@given(stock=st.floats(-1e9, 1e9), mean=st.floats(0, 1e9), sd=st.floats(1e-3, 1e9), count=st.integers(0, 10**7))
def test_no_answer_is_nan(stock: float, mean: float, sd: float, count: int) -> None:
    assert all(math.isfinite(each) and each >= 0 for each in normal_loss(stock, mean, sd))
    assert math.isfinite(second_normal_loss(stock, mean, sd))
    rate = mean / 1000
    assert all(math.isfinite(each) and each >= 0 for each in poisson_loss(count, rate))
    assert 0 <= poisson_fill_rate(count, rate) <= poisson_ready_rate(count, rate) <= 1
