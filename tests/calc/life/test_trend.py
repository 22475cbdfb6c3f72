"""A trend's crossing of a threshold: exact on a straight line, honest about scatter."""

import math
import random
from collections.abc import Callable

import pytest

from shop.calc.life import hours_to_threshold

HOURS = [0.0, 2.0, 4.0, 6.0, 8.0]
NOISY = [-60.1, -59.4, -59.2, -58.3, -58.0]


def test_a_straight_row_crosses_when_it_says() -> None:
    found = hours_to_threshold([0, 2, 4], [10, 11, 12], 15)
    assert found.expected == pytest.approx(6, abs=1e-6)
    assert found.soonest == pytest.approx(6, abs=1e-4)
    assert found.latest == pytest.approx(6, abs=1e-4)
    assert hours_to_threshold([0, 2, 4], [10, 11, 12], 15, now=9).expected == pytest.approx(1, abs=1e-6)


def test_the_line_itself_always_crosses_where_it_says() -> None:
    """Whatever rounding makes of a double root: levels that rise by about 1 an hour are 2.9 short of the threshold."""
    for shift in range(40):
        readings = [-62.0, -61.0, -60.0, -59.1, -57.9 + shift / 1000]
        found = hours_to_threshold([1, 2, 3, 4, 5], readings, -55.0, level=0.8)
        assert found.expected == pytest.approx((-55 - found.line.at(5)) / found.line.slope, rel=1e-9), shift


def test_scatter_opens_the_interval() -> None:
    found = hours_to_threshold(HOURS, NOISY, -56)
    assert found.expected is not None
    assert found.soonest is not None
    assert found.latest is not None
    assert 0 < found.soonest < found.expected < found.latest
    assert found.line.at(8 + found.expected) == pytest.approx(-56)
    assert found.line.prediction(8 + found.soonest, 0.9).high == pytest.approx(-56)
    assert found.line.prediction(8 + found.latest, 0.9).low == pytest.approx(-56)


def test_downward_is_the_mirror_of_upward() -> None:
    up = hours_to_threshold(HOURS, NOISY, -56)
    down = hours_to_threshold(HOURS, [-each for each in NOISY], 56, toward="down")
    assert (down.soonest, down.expected, down.latest) == pytest.approx((up.soonest, up.expected, up.latest))


def test_what_has_been_reached_is_now() -> None:
    found = hours_to_threshold(HOURS, NOISY, -70)
    assert (found.soonest, found.expected, found.latest) == (0, 0, 0)


def test_a_trend_away_never_crosses() -> None:
    found = hours_to_threshold([0, 2, 4], [12, 11, 10], 15)
    assert (found.soonest, found.expected, found.latest) == (None, None, None)


def test_too_little_to_go_on_leaves_the_latest_open() -> None:
    found = hours_to_threshold([0, 2, 4], [10, 11.9, 11.0], 15)
    assert found.expected is not None
    assert found.latest is None


def test_the_interval_holds_nine_times_in_ten() -> None:
    """Trends drawn at random: a reading at the soonest hours lies beyond the threshold one time in twenty."""
    rng = random.Random(8)
    beyond = []
    for _ in range(2000):
        readings = [10 + 0.5 * hour + rng.gauss(0, 0.4) for hour in range(12)]
        found = hours_to_threshold(range(12), readings, 20)
        assert found.soonest is not None
        beyond.append(10 + 0.5 * (11 + found.soonest) + rng.gauss(0, 0.4) > 20)
    assert sum(beyond) / 2000 == pytest.approx(0.05, abs=0.015)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: hours_to_threshold([0, 1], [1, 2], 5), "x"),
        (lambda: hours_to_threshold([1, 1, 1], [1, 2, 3], 5), "x"),
        (lambda: hours_to_threshold([0, 1, 2], [1, 2, 3], math.nan), "threshold"),
        (lambda: hours_to_threshold([0, 1, 2], [1, 2, 3], 5, toward="sideways"), "toward"),  # type: ignore[arg-type]
        (lambda: hours_to_threshold([0, 1, 2], [1, 2, 3], 5, level=1), "level"),
        (lambda: hours_to_threshold([0, 1, 2], [1, 2, 3], 5, now=math.inf), "now"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()
