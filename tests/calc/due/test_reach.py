"""The day a meter will reach an amount: how often the interval holds, and what it is not made from."""

import math

import numpy as np
import pytest

from shop.calc.due import reach


def test_even_use_reaches_it_on_the_day_of_the_sum():
    found = reach([2.0] * 20, 30.0)
    assert found is not None
    assert (found.low, found.middle, found.high, found.days_counted, found.a_day) == (15, 15, 15, 20, 2)


def test_the_edges_are_where_the_band_of_sums_reaches_it():
    """k m +- t s sqrt(k + k^2/n) by hand, t of 13 degrees of freedom from a printed table (1.771 for 90 %)."""
    daily = [0.0, 4.0] * 7
    found = reach(daily, 40.0)
    assert found is not None
    assert found.high is not None
    spread = 1.7709 * math.sqrt(28 * 2 / 13)
    for days, side in ((found.low, 1), (found.high, -1)):
        assert days * 2 + side * spread * math.sqrt(days + days * days / 14) == pytest.approx(40, abs=1e-3)
    assert found.low < found.middle == 20 < found.high


@pytest.mark.parametrize("shape", [0.7, 2.0])
def test_the_interval_holds_about_as_often_as_it_says(shape):
    """Days alike, a third of them without use: 2,000 rooms, each with 56 days seen."""
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(2000):
        days = rng.gamma(shape, 3.0, 400) * (rng.random(400) > 1 / 3)
        found = reach(days[:56].tolist(), 40.0)
        assert found is not None
        reached = int(np.argmax(np.cumsum(days[56:]) >= 40.0)) + 1
        held += math.floor(found.low) <= reached <= math.ceil(found.high or 1e9)
    assert 0.86 < held / 2000 < 0.97


def test_too_little_to_go_by_gives_none():
    assert reach([5.0] * 13, 10.0) is None
    assert reach([0.0] * 30, 10.0) is None
    assert reach([0.001] * 30, 1e6) is None


def test_use_so_uneven_that_no_end_can_be_given():
    found = reach([0.0] * 29 + [30.0], 60.0)
    assert found is not None
    assert found.high is None
    assert 0 < found.low < found.middle == 60


def test_nothing_left_is_today():
    found = reach([0.0, 1.0] * 10, 0.0)
    assert found is not None
    assert (found.low, found.middle, found.high) == (0, 0, 0)


@pytest.mark.parametrize(
    ("daily", "left", "level", "name"),
    [([-1.0] * 20, 1.0, 0.9, "daily"), ([1.0] * 20, -1.0, 0.9, "left"), ([1.0] * 20, float("nan"), 0.9, "left"),
     ([1.0] * 20, 1.0, 1.0, "level")],
)  # fmt: skip
def test_nonsense_is_named(daily, left, level, name):
    with pytest.raises(ValueError, match=name):
        reach(daily, left, level=level)
