"""The Weibull law: closed forms, refusals, and what always holds."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from shop.calc.life import Weibull, conditional_survival, mean_residual_life


def test_without_wear_age_does_not_matter() -> None:
    assert conditional_survival(1, 1000, 0, 200) == pytest.approx(conditional_survival(1, 1000, 5000, 200))
    assert mean_residual_life(1, 1000, 500) == pytest.approx(1000)


def test_with_wear_an_old_edge_has_less_left() -> None:
    life = Weibull(2.5, 20)
    assert life.chance_of_finishing(15, 2) < life.chance_of_finishing(5, 2) < life.chance_of_finishing(0, 2)
    assert life.mean_residual_life(15) < life.mean_residual_life(5) < life.mean_residual_life(0)


def test_mean_sd_and_quantiles_go_together() -> None:
    life = Weibull(2, 10)
    assert life.mean == pytest.approx(10 * math.sqrt(math.pi) / 2)
    assert life.sd == pytest.approx(10 * math.sqrt(1 - math.pi / 4))
    assert life.survival(life.quantile(0.3)) == pytest.approx(0.7)
    assert life.mean_residual_life(0) == pytest.approx(life.mean)


def test_the_hazard_is_the_rate_of_dying() -> None:
    life = Weibull(2.5, 20)
    tiny = 1e-6
    assert life.hazard(12) == pytest.approx((1 - life.chance_of_finishing(12, tiny)) / tiny, rel=1e-4)


def test_remaining_is_when_the_chance_of_finishing_has_fallen_so_far() -> None:
    life = Weibull(2.5, 20)
    for age in (0, 1e-9, 3, 18, 60):
        assert life.chance_of_finishing(age, life.remaining(age, 0.05)) == pytest.approx(0.95)


@pytest.mark.parametrize("shape", [0.5, 1.3, 3, 20])
@pytest.mark.parametrize("age", [0.5, 20, 60])
def test_mean_residual_life_is_the_area_under_what_is_left(shape: float, age: float) -> None:
    life = Weibull(shape, 20)
    far = max(life.remaining(age, 1 - 1e-12), 1e-9)
    area = quad(lambda extra: life.chance_of_finishing(age, extra), 0, far, limit=500, epsabs=0, epsrel=1e-10)[0]
    assert mean_residual_life(shape, 20, age) == pytest.approx(area, rel=1e-6)


def test_both_ways_to_the_mean_residual_life_meet() -> None:
    """Where the incomplete gamma function is left for its series, at (age/scale)^shape = 500."""
    for shape in (0.06, 0.3, 1.7, 4, 50):
        at = 10 * 500 ** (1 / shape)
        if at < 1e8:
            below, above = mean_residual_life(shape, 10, at * 0.999999), mean_residual_life(shape, 10, at * 1.000001)
            assert above == pytest.approx(below, rel=2e-4)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: Weibull(0, 10), "shape"),
        (lambda: Weibull(math.nan, 10), "shape"),
        (lambda: Weibull(2, 0), "scale"),
        (lambda: Weibull(2, -5), "scale"),
        (lambda: Weibull(2, 10).survival(-1), "hours"),
        (lambda: Weibull(2, 10).chance_of_finishing(-1, 1), "age"),
        (lambda: Weibull(2, 10).chance_of_finishing(1, math.inf), "extra"),
        (lambda: Weibull(2, 10).quantile(1), "q"),
        (lambda: Weibull(2, 10).remaining(1, 0), "q"),
        (lambda: Weibull(2, 10).hazard(0), "hours"),
        (lambda: mean_residual_life(2, 10, -1), "age"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must be"):
        ask()


hours = st.floats(0, 1e9)


@given(shape=st.floats(0.05, 1000), scale=st.floats(1e-9, 1e9), age=hours, extra=hours, q=st.floats(1e-9, 1 - 1e-9))
def test_no_answer_is_nan(shape: float, scale: float, age: float, extra: float, q: float) -> None:
    life = Weibull(shape, scale)
    assert 0 <= life.survival(age) <= 1
    assert 0 <= life.chance_of_finishing(age, extra) <= 1
    assert life.remaining(age, q) >= 0
    assert life.mean_residual_life(age) >= 0
    assert life.quantile(q) >= 0
    assert life.mean > 0
    assert life.sd >= 0
    if age > 0:
        assert life.hazard(age) >= 0
