"""Blanks for sides and rejects against SciPy's negative binomial and beta negative binomial distributions.

scipy.stats.nbinom(n, p): failures before the n-th success; scipy.stats.betanbinom(n, a, b): the same with p drawn from
Beta(a, b) (SciPy reference).
"""

import pytest
from scipy.stats import betanbinom, nbinom

from shop.calc.blanks import RejectShare, blanks_needed, blanks_needed_from, chance_of_all_good


@pytest.mark.parametrize("sides", [1, 2, 4, 8, 24, 200])
@pytest.mark.parametrize("rate", [0.01, 0.05, 0.12, 0.3, 0.6])
@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95, 0.99, 0.999])
def test_a_known_share_is_negative_binomial(sides: int, rate: float, confidence: float) -> None:
    assert blanks_needed(sides, rate, confidence) == sides + nbinom.ppf(confidence, sides, 1 - rate)


@pytest.mark.parametrize("sides", [1, 2, 4, 8, 24])
@pytest.mark.parametrize(("good", "bad"), [(0.5, 0.5), (9.5, 1.5), (40, 3), (700.25, 81.5)])
@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9])
def test_a_counted_share_is_beta_negative_binomial(sides: int, good: float, bad: float, confidence: float) -> None:
    if good < 1:
        confidence = 0.5  # its tail is without a mean: at 90 % not even SciPy's search ends
    found = blanks_needed_from(sides, RejectShare(good, bad), confidence)
    assert betanbinom.cdf(found - sides, sides, good, bad) >= confidence - 1e-9
    assert found == sides or betanbinom.cdf(found - sides - 1, sides, good, bad) < confidence
    assert chance_of_all_good(sides, found, RejectShare(good, bad)) == pytest.approx(
        betanbinom.cdf(found - sides, sides, good, bad), rel=1e-9
    )
