"""Blanks for sides and rejects against SciPy's negative binomial and beta negative binomial distributions.

scipy.stats.nbinom(n, p): failures before the n-th success; scipy.stats.betanbinom(n, a, b): the same with p drawn from
Beta(a, b) (SciPy reference).
"""

import pytest
from scipy.stats import betanbinom, nbinom

from shop.calc.blanks import (
    GUESS_WORTH,
    RejectShare,
    blanks_needed,
    blanks_needed_from,
    blanks_to_have,
    chance_of_all_good,
    known_share,
    most_blanks,
)


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


@pytest.mark.parametrize("sides", [1, 2, 3, 5, 9])
@pytest.mark.parametrize("guess", [0.01, 0.05, 0.1, 0.2, 0.35, 0.5])
@pytest.mark.parametrize(("rejects", "cut"), [(0, 0), (1, 1), (3, 3), (0, 1), (2, 30)])
def test_with_a_guess_the_number_is_scipys_or_none_is_told(sides: int, guess: float, rejects: int, cut: int) -> None:
    """The guess as Beta(8 (1 - g), 8 g) with what was counted; where SciPy asks for more than is told, none is."""
    share = known_share(rejects, cut, guess=guess)
    assert share is not None
    good, bad = GUESS_WORTH * (1 - guess) + cut - rejects, GUESS_WORTH * guess + rejects
    assert (share.good, share.rejects) == pytest.approx((good, bad))
    found = blanks_to_have(sides, share, 0.95)
    if found is None:
        assert betanbinom.cdf(most_blanks(sides) - sides, sides, good, bad) < 0.95
    else:
        assert betanbinom.cdf(found - sides, sides, good, bad) >= 0.95 - 1e-9
        assert found == sides or betanbinom.cdf(found - sides - 1, sides, good, bad) < 0.95
