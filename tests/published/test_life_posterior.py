"""The posterior of lives: its prior by SciPy, many lives by lifelines, and whether its bands hold the truth.

Libraries: lifelines 0.30.3, scipy 1.17.1. That a band holds the truth as often as it says, where truths are drawn from
the prior, is what a posterior promises (Dawid 1982, The well-calibrated Bayesian, from memory).
"""

import math
import random

import pytest
from scipy.integrate import dblquad, quad
from scipy.optimize import brentq
from scipy.stats import lognorm, weibull_min

from shop.calc.life import LifePosterior, LifePrior, Weibull, age_to_replace
from tests.published.oracles import oracle, quietly

_Z90 = 1.6448536269514722


def of_prior(prior: LifePrior, hours: float) -> float:
    """Share that outlasts `hours`: scipy.integrate.dblquad over both lognormals, each within 6 standard deviations."""
    median_sd, wear_sd = math.log(prior.factor) / _Z90, math.log(prior.wear_sure) / _Z90

    def weighed(b: float, a: float) -> float:
        median, shape = prior.expected_hours * math.exp(median_sd * a), prior.wear * math.exp(wear_sd * b)
        return float(0.5 ** min((hours / median) ** shape, 1000.0) * math.exp(-(a * a + b * b) / 2) / (2 * math.pi))

    return float(dblquad(weighed, -6, 6, -6, 6, epsabs=1e-6, epsrel=1e-6)[0])


@pytest.mark.parametrize("sure", ["rough", "fair", "well"])
def test_with_no_life_it_is_the_prior(sure: str) -> None:
    """Survival, and the interval of the typical life: lognormal quantiles by scipy.stats, on our grid within 1 %."""
    prior = LifePrior(12, sure)
    posterior = LifePosterior(prior)
    for hours in (3.0, 12.0, 20.0):
        assert posterior.survival(hours) == pytest.approx(of_prior(prior, hours), abs=2e-4), hours
    typical = posterior.typical(0.9)
    law = lognorm(s=math.log(prior.factor) / _Z90, scale=12)
    assert (typical.low, typical.middle, typical.high) == pytest.approx(law.ppf([0.05, 0.5, 0.95]), rel=1e-2)


def test_with_many_lives_it_is_what_lifelines_fits() -> None:
    """3,000 lives of which some still run: figures, survival and standard errors by lifelines.WeibullFitter."""
    rng = random.Random(11)
    drawn = [(rng.weibullvariate(14, 2.5), rng.uniform(6, 30)) for _ in range(3000)]
    hours, ended = [min(pair) for pair in drawn], [life <= seen for life, seen in drawn]
    posterior = LifePosterior(LifePrior(40, "rough"), hours, ended)
    with quietly():
        fit = oracle("lifelines").WeibullFitter().fit(hours, ended)
    wear, typical = posterior.wear(0.9), posterior.typical(0.9)
    assert wear.middle == pytest.approx(fit.rho_, rel=3e-3)
    assert typical.middle == pytest.approx(fit.median_survival_time_, rel=2e-3)
    for at in (5.0, 10.0, 15.0):
        assert posterior.survival(at) == pytest.approx(float(fit.survival_function_at_times(at).iloc[0]), abs=1e-3)
    assert (wear.high - wear.low) / (2 * _Z90) == pytest.approx(fit.summary.loc["rho_", "se(coef)"], rel=0.05)


def test_ninety_per_cent_bands_hold_the_truth_in_500_shops() -> None:
    """Each shop has its own typical life and wear, drawn from the prior, and up to a dozen lives, some cut short.

    Of 500, a band that holds nine in ten holds 87 to 93 % but for chance (one standard error is 1.3 %). Looked at: the
    typical life, the wear, the share that outlasts the typical guess, and the chance to finish two hours more.
    """
    rng = random.Random(2024)
    prior = LifePrior(12, "rough")
    held = dict.fromkeys(("typical", "wear", "survival", "finishing"), 0)
    shops = 500
    for _ in range(shops):
        median = 12 * math.exp(rng.gauss(0, math.log(3) / _Z90))
        shape = 2 * math.exp(rng.gauss(0, math.log(2) / _Z90))
        truth = Weibull(shape, median / math.log(2) ** (1 / shape))
        lives = [rng.weibullvariate(truth.scale, shape) for _ in range(rng.randrange(13))]
        seen = [rng.uniform(0.3, 2.0) * median for _ in lives]
        posterior = LifePosterior(
            prior,
            [min(pair) for pair in zip(lives, seen, strict=True)],
            [a <= b for a, b in zip(lives, seen, strict=True)],
        )
        for name, band, true in (
            ("typical", posterior.typical(0.9), median),
            ("wear", posterior.wear(0.9), shape),
            ("survival", posterior.survival_band(12, 0.9), truth.survival(12)),
            ("finishing", posterior.chance_band(6, 2, 0.9), truth.chance_of_finishing(6, 2)),
        ):
            held[name] += band.low <= true <= band.high
    shares = {name: count / shops for name, count in held.items()}
    assert all(0.87 <= share <= 0.93 for share in shares.values()), shares


@pytest.mark.parametrize(("shape", "planned", "failure"), [(1.5, 1, 5), (2.5, 1, 5), (3, 88, 165), (4, 1, 20)])
def test_the_age_to_replace_is_the_root(shape: float, planned: float, failure: float) -> None:
    """Barlow and Hunter 1960: h(T) int_0^T R - F(T) = planned/(failure - planned), by SciPy's brentq and quad."""
    law = weibull_min(shape, scale=100)

    def short(age: float) -> float:
        hazard = shape / 100 * (age / 100) ** (shape - 1)
        area = quad(law.sf, 0, age, epsabs=0, epsrel=1e-12)[0]
        return float(hazard * area - law.cdf(age) - planned / (failure - planned))

    exact = brentq(short, 1, 300, xtol=1e-12)
    assert age_to_replace(Weibull(shape, 100), planned, failure).hours == pytest.approx(exact, rel=1e-6)
