"""Lives that came into view at an age (left-truncated) against lifelines' `entry`, and the truth found again.

Library: lifelines 0.30.3, WeibullFitter and KaplanMeierFitter with `entry`. The likelihood of such a life is f(t)/S(a),
cut short S(t)/S(a) (Lawless, Statistical Models and Methods for Lifetime Data, ch. 2, from memory).
"""

import math
import random

import pytest

from shop.calc.life import LifePosterior, LifePrior, fit_weibull, kaplan_meier
from tests.published.oracles import oracle, quietly

SHAPE, SCALE = 2.4, 14.0
MEDIAN = SCALE * math.log(2) ** (1 / SHAPE)


def drawn(count: int, seed: int) -> tuple[list[float], list[bool], list[float]]:
    """Hours, whether ended, and the age at entry: half of the lives are bought in use, of the others all is seen."""
    rng = random.Random(seed)
    hours: list[float] = []
    ended: list[bool] = []
    entered: list[float] = []
    while len(hours) < count:
        came = rng.uniform(0, 12) if rng.random() < 0.5 else 0.0
        life = rng.weibullvariate(SCALE, SHAPE)
        if life > came:  # one that ended before is never seen
            seen = came + rng.uniform(1, 20)
            hours.append(min(life, seen))
            ended.append(life <= seen)
            entered.append(came)
    return hours, ended, entered


@pytest.mark.parametrize("count", [12, 40, 400])
def test_the_fit_is_that_of_lifelines(count: int) -> None:
    hours, ended, entered = drawn(count, seed=count)
    found = fit_weibull(hours, ended, entered=entered)
    with quietly():
        other = oracle("lifelines").WeibullFitter().fit(hours, ended, entry=entered)
    assert found.shape == pytest.approx(other.rho_, rel=1e-4)
    assert found.scale == pytest.approx(other.lambda_, rel=1e-4)
    assert found.loglik == pytest.approx(other.log_likelihood_, abs=1e-6)
    assert found.loglik >= other.log_likelihood_ - 1e-9
    assert found.se_shape == pytest.approx(other.summary.loc["rho_", "se(coef)"], rel=1e-3)
    assert found.se_scale == pytest.approx(other.summary.loc["lambda_", "se(coef)"], rel=1e-3)
    profile = found.intervals(0.9)
    assert profile.shape_profile.low < found.shape < profile.shape_profile.high
    assert profile.scale_profile.low < found.scale < profile.scale_profile.high


@pytest.mark.parametrize("count", [12, 40, 400])
def test_the_product_limit_estimate_is_that_of_lifelines(count: int) -> None:
    hours, ended, entered = drawn(count, seed=count)
    steps = kaplan_meier(hours, ended, entered=entered)
    with quietly():
        other = oracle("lifelines").KaplanMeierFitter().fit(hours, ended, entry=entered)
    assert len(steps) > count / 4
    for step in steps:
        assert step.survival == pytest.approx(float(other.survival_function_at_times(step.hours).iloc[0]), abs=1e-12)


def test_with_many_lives_the_posterior_is_what_lifelines_fits() -> None:
    hours, ended, entered = drawn(3000, seed=3)
    posterior = LifePosterior(LifePrior(40, "rough"), hours, ended, entered=entered)
    with quietly():
        other = oracle("lifelines").WeibullFitter().fit(hours, ended, entry=entered)
    assert posterior.wear(0.9).middle == pytest.approx(other.rho_, rel=3e-3)
    assert posterior.typical(0.9).middle == pytest.approx(other.median_survival_time_, rel=2e-3)
    for at in (5.0, 10.0, 15.0):
        there = float(other.survival_function_at_times(at).iloc[0])
        assert posterior.survival(at) == pytest.approx(there, abs=1e-3)


def test_the_truth_is_found_again_and_not_where_the_age_is_left_out() -> None:
    """Forty rooms of 60 lives: the fits scatter about the truth, within three standard errors of their mean. Read as
    lives that were seen whole they are too long, and read from 0 at entry far too short."""
    medians: dict[str, list[float]] = {"right": [], "whole": [], "from 0": []}
    wears: list[float] = []
    for seed in range(40):
        hours, ended, entered = drawn(60, seed=1000 + seed)
        right = fit_weibull(hours, ended, entered=entered)
        wears.append(right.shape)
        medians["right"].append(right.quantile(0.5))
        medians["whole"].append(fit_weibull(hours, ended).quantile(0.5))
        short = [time - age for time, age in zip(hours, entered, strict=True)]
        medians["from 0"].append(fit_weibull(short, ended).quantile(0.5))

    def off(found: list[float], truth: float) -> float:
        """How many standard errors of the mean of the rooms it lies off."""
        mean = sum(found) / len(found)
        spread = math.sqrt(sum((one - mean) ** 2 for one in found) / (len(found) - 1) / len(found))
        return (mean - truth) / spread

    assert abs(off(medians["right"], MEDIAN)) < 3
    assert abs(off(wears, SHAPE)) < 3
    assert off(medians["whole"], MEDIAN) > 3
    assert off(medians["from 0"], MEDIAN) < -10


def test_bands_hold_the_truth_as_often_as_they_say() -> None:
    """250 rooms drawn from the prior, all of their few lives bought in use: bands that hold nine in ten hold 84
    to 96 % (one standard error is 1.9 %, and three are allowed)."""
    rng = random.Random(77)
    z90 = 1.6448536269514722
    held = {"typical": 0, "wear": 0, "finishing": 0}
    rooms = 250
    for _ in range(rooms):
        median = 12 * math.exp(rng.gauss(0, math.log(3) / z90))
        shape = 2 * math.exp(rng.gauss(0, math.log(2) / z90))
        scale = median / math.log(2) ** (1 / shape)
        hours, ended, entered = [], [], []
        for _ in range(rng.randrange(1, 9)):
            came, life = rng.uniform(0, 1.2) * median, 0.0
            while life <= came:
                life = rng.weibullvariate(scale, shape)
            seen = came + rng.uniform(0.1, 1.5) * median
            hours.append(min(life, seen))
            ended.append(life <= seen)
            entered.append(came)
        posterior = LifePosterior(LifePrior(12, "rough"), hours, ended, entered=entered)
        typical, wear, finishing = posterior.typical(0.9), posterior.wear(0.9), posterior.chance_band(8.0, 2.0, 0.9)
        truth = math.exp((8 / scale) ** shape - (10 / scale) ** shape)
        held["typical"] += typical.low <= median <= typical.high
        held["wear"] += wear.low <= shape <= wear.high
        held["finishing"] += finishing.low <= truth <= finishing.high
    for what, count in held.items():
        assert 0.84 < count / rooms < 0.96, (what, count / rooms)
