"""Age replacement on cases with an answer in closed form, and its edges."""

import math
from collections.abc import Callable

import pytest

from shop.calc.life import LifePosterior, LifePrior, Weibull, age_to_replace, cost_per_hour


def test_without_wear_nothing_is_gained() -> None:
    found = age_to_replace(Weibull(1, 100), 1, 5)
    assert found.hours is None
    assert found.saves == 0
    assert found.cost_per_hour == found.cost_run_to_failure == pytest.approx(5 / 100)
    assert age_to_replace(Weibull(0.7, 100), 1, 5).hours is None


def test_a_failure_that_costs_no_more_is_waited_for() -> None:
    assert age_to_replace(Weibull(3, 100), 5, 5).hours is None
    assert age_to_replace(Weibull(3, 100), 5, 2).hours is None


def test_with_wear_the_first_derivative_vanishes() -> None:
    """h(T) times the area up to T, less the share that failed, is planned over the difference of costs."""
    life, planned, failure = Weibull(2.5, 20), 3.0, 20.0
    found = age_to_replace(life, planned, failure)
    assert found.hours is not None
    at = found.hours
    step = at * 1e-4
    assert cost_per_hour(life, at, planned, failure) == pytest.approx(found.cost_per_hour, rel=1e-9)
    assert cost_per_hour(life, at - step, planned, failure) > found.cost_per_hour
    assert cost_per_hour(life, at + step, planned, failure) > found.cost_per_hour
    assert found.cost_per_hour == pytest.approx((failure - planned) * life.hazard(at), rel=1e-6)


def test_the_dearer_the_failure_the_sooner() -> None:
    ages = [age_to_replace(Weibull(2.5, 20), 1, failure).hours or math.inf for failure in (2, 5, 10, 100)]
    assert ages == sorted(ages, reverse=True)


def test_a_life_of_known_length_is_used_up() -> None:
    class Fixed:
        def survival(self, hours: float) -> float:
            return 1.0 if hours < 10 else 0.0

    found = age_to_replace(Fixed(), 1, 5)
    assert found.hours == pytest.approx(10, abs=0.05)
    assert found.cost_per_hour == pytest.approx(1 / 10, rel=0.05)


@pytest.mark.parametrize(("sure", "expected"), [("fair", True), ("well", True), ("rough", False)])
def test_a_doubtful_life_may_last_very_long_and_is_looked_at_closely_all_the_same(sure: str, expected: bool) -> None:
    """Its last age is thousands of times the best one to change at, or there is none: by trying every quarter hour."""
    life = LifePosterior(LifePrior(12, sure))
    found = age_to_replace(life, 100, 400)
    tried = min((cost_per_hour(life, quarter / 4, 100, 400), quarter / 4) for quarter in range(8, 160))
    assert (found.hours is not None) is expected
    if found.hours is not None:
        assert found.hours == pytest.approx(tried[1], abs=0.25)
    assert found.cost_per_hour <= tried[0] * (1 + 1e-9)


def test_a_posterior_will_do_and_doubt_costs() -> None:
    sure, unsure = LifePosterior(LifePrior(12, 1.01, 3, 1.01)), LifePosterior(LifePrior(12, "rough", 3, 1.01))
    known = age_to_replace(Weibull(3, 12 / math.log(2) ** (1 / 3)), 1, 8)
    near = age_to_replace(sure, 1, 8)
    assert near.hours == pytest.approx(known.hours, rel=0.01)
    doubt = age_to_replace(unsure, 1, 8)
    assert doubt.hours is not None
    assert doubt.cost_per_hour > near.cost_per_hour


class Endless:
    def survival(self, hours: float) -> float:
        return 1.0


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: age_to_replace(Weibull(2, 10), 0, 5), "planned_cost"),
        (lambda: age_to_replace(Weibull(2, 10), 1, -5), "failure_cost"),
        (lambda: age_to_replace(Weibull(2, 10), math.nan, 5), "planned_cost"),
        (lambda: age_to_replace(Endless(), 1, 5), "life"),
        (lambda: cost_per_hour(Weibull(2, 10), 0, 1, 5), "hours"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()
