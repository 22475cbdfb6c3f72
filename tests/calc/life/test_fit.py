"""The maximum-likelihood fit: what it rests on, what it refuses, and that it is a maximum."""

import math
import random
from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shop.calc.life import Weibull, fit_weibull

HOURS = [8.0, 11.5, 12.0, 14.2, 16.0, 9.0, 18.0]
ENDED = [True, True, True, True, True, False, False]


def loglik(shape: float, scale: float, hours: list[float], ended: list[bool]) -> float:
    """The likelihood as the textbook writes it."""
    total = 0.0
    for time, over in zip(hours, ended, strict=True):
        total -= (time / scale) ** shape
        if over:
            total += math.log(shape / scale) + (shape - 1) * math.log(time / scale)
    return total


def test_what_it_rests_on() -> None:
    fit = fit_weibull(HOURS, ENDED)
    assert (fit.failures, fit.running) == (5, 2)
    assert fit.loglik == pytest.approx(loglik(fit.shape, fit.scale, HOURS, ENDED), rel=1e-12)
    assert fit.aic == pytest.approx(4 - 2 * fit.loglik)
    assert fit.aicc == pytest.approx(fit.aic + 12 / 4)
    assert isinstance(fit, Weibull)
    assert fit.survival(10) == pytest.approx(math.exp(-((10 / fit.scale) ** fit.shape)))
    assert "likelihood" not in repr(fit)


def test_it_is_a_maximum() -> None:
    fit = fit_weibull(HOURS, ENDED)
    for shape in (0.999, 1.001):
        for scale in (0.999, 1, 1.001):
            assert loglik(fit.shape * shape, fit.scale * scale, HOURS, ENDED) < fit.loglik


def test_standard_errors_are_the_curvature_there() -> None:
    fit = fit_weibull(HOURS, ENDED)
    a, b = fit.shape * 1e-4, fit.scale * 1e-4

    def at(i: int, j: int) -> float:
        return loglik(fit.shape + i * a, fit.scale + j * b, HOURS, ENDED)

    aa = -(at(1, 0) - 2 * at(0, 0) + at(-1, 0)) / a**2
    bb = -(at(0, 1) - 2 * at(0, 0) + at(0, -1)) / b**2
    ab = -(at(1, 1) - at(1, -1) - at(-1, 1) + at(-1, -1)) / (4 * a * b)
    determinant = aa * bb - ab * ab
    assert fit.se_shape == pytest.approx(math.sqrt(bb / determinant), rel=1e-4)
    assert fit.se_scale == pytest.approx(math.sqrt(aa / determinant), rel=1e-4)
    assert fit.cov == pytest.approx(-ab / determinant, rel=1e-3)


def test_units_of_time_do_not_matter() -> None:
    hours, minutes = fit_weibull(HOURS, ENDED), fit_weibull([h * 60 for h in HOURS], ENDED)
    assert minutes.shape == pytest.approx(hours.shape, rel=1e-10)
    assert minutes.scale == pytest.approx(hours.scale * 60, rel=1e-10)


def test_a_life_running_at_no_hours_says_nothing() -> None:
    assert fit_weibull([*HOURS, 0.0], [*ENDED, False]).shape == pytest.approx(fit_weibull(HOURS, ENDED).shape)


def test_one_life_that_ended_and_was_outlived_is_enough() -> None:
    fit = fit_weibull([5.0, 9.0], [True, False])
    assert fit.shape > 0
    wide = fit.intervals()
    assert wide.shape_profile.high > 3 * fit.shape
    assert fit_weibull([5.0, 9.0, 9.5], [True, False, False]).aicc == math.inf


def test_the_drawn_law_is_found_again_from_many_lives() -> None:
    rng = random.Random(11)
    drawn = [rng.weibullvariate(14, 2.5) for _ in range(4000)]
    fit = fit_weibull([min(life, 16) for life in drawn], [life <= 16 for life in drawn])
    assert fit.shape == pytest.approx(2.5, abs=4 * fit.se_shape)
    assert fit.scale == pytest.approx(14, abs=4 * fit.se_scale)
    assert fit.se_shape < 0.1


def test_intervals_hold_the_estimate_and_widen_with_the_level() -> None:
    fit = fit_weibull(HOURS, ENDED)
    narrow, wide = fit.intervals(0.5), fit.intervals(0.99)
    for name in ("wald", "wald_log", "profile"):
        for value, which in ((fit.shape, "shape"), (fit.scale, "scale")):
            inner, outer = getattr(narrow, f"{which}_{name}"), getattr(wide, f"{which}_{name}")
            assert outer.low < inner.low < value < inner.high < outer.high
    assert wide.level == 0.99


def test_profile_ends_lie_where_the_likelihood_has_fallen_so_far() -> None:
    fit = fit_weibull(HOURS, ENDED)
    found = fit.intervals(0.95)
    drop = 3.841458820694124 / 2
    for shape in found.shape_profile:
        scale = (sum(h**shape for h in HOURS) / 5) ** (1 / shape)
        assert fit.loglik - loglik(shape, scale, HOURS, ENDED) == pytest.approx(drop, rel=1e-6)
    for scale in found.scale_profile:
        best = max(loglik(shape / 1000, scale, HOURS, ENDED) for shape in range(300, 12_000))
        assert fit.loglik - best == pytest.approx(drop, rel=1e-4)


@pytest.mark.parametrize(
    ("hours", "ended", "sentence"),
    [
        ([], [], "ended must be true of at least one life"),
        ([5, 6], [False, False], "ended must be true of at least one life"),
        ([5, 6], [True], "ended must have as many values as hours, 2, not 1"),
        ([5, 0], [True, True], r"hours\[1\] must be at least 1e-06"),
        ([5, -1], [True, False], r"hours\[1\] must be at least 0"),
        ([5, math.nan], [True, False], r"hours\[1\] must be a finite number"),
        ([5], [True], "hours must differ"),
        ([5, 5, 5], [True, True, True], "hours must differ"),
        ([9, 5, 5], [True, False, False], "hours must differ"),
        ([5, 5.00001], [True, True], "hours must differ"),
    ],
)
def test_what_gives_no_fit_is_refused(hours: list[float], ended: list[bool], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        fit_weibull(hours, ended)


def test_levels_are_between_nothing_and_all() -> None:
    ask: Callable[[float], object] = fit_weibull(HOURS, ENDED).intervals
    for level in (0, 1, math.nan):
        with pytest.raises(ValueError, match="level must be"):
            ask(level)


@given(st.lists(st.tuples(st.floats(0.01, 1e5), st.booleans()), min_size=2, max_size=30))
def test_a_fit_is_refused_or_a_finite_maximum(lives: list[tuple[float, bool]]) -> None:
    hours, ended = [h for h, _ in lives], [e for _, e in lives]
    try:
        fit = fit_weibull(hours, ended)
    except ValueError:
        assume(False)
    figures = (fit.shape, fit.scale, fit.loglik, fit.se_shape, fit.se_scale, fit.cov, fit.mean)
    assert all(math.isfinite(each) for each in figures)
    assert fit.se_shape > 0
    found = fit.intervals()
    for interval in (found.shape_profile, found.shape_wald_log, found.scale_profile, found.scale_wald_log):
        assert 0 <= interval.low <= interval.high
    for factor in (0.99, 1.01):
        assert loglik(fit.shape * factor, fit.scale, hours, ended) <= fit.loglik + 1e-9 * abs(fit.loglik)
        assert loglik(fit.shape, fit.scale * factor, hours, ended) <= fit.loglik + 1e-9 * abs(fit.loglik)
