"""Intervals for a share against Newcombe, NIST and SciPy."""

import pytest
from scipy.stats import binomtest

from shop.calc.share import clopper_pearson, wilson

# k, n, level, Wilson, Clopper and Pearson; computed with scipy.stats.binomtest unless said otherwise
ROWS = [
    (81, 263, 0.95, (0.2552885199, 0.3662095770), (0.2527367456, 0.3676219226)),
    (0, 20, 0.95, (0, 0.1611251581), (0, 0.1684334710)),
    (1, 29, 0.95, (0.0061132143, 0.1717552188), (0.0008726469, 0.1776442955)),
    (7, 50, 0.95, (0.0695083343, 0.2618619371), (0.0581917003, 0.2673960025)),
    (4, 20, 0.90, (0.0931180166, 0.3783766858), (0.0713538843, 0.4010281173)),
    (0, 10, 0.95, (0, 0.2775327999), (0, 0.3084971078)),
    (0, 100, 0.95, (0, 0.0369934982), (0, 0.0362166926)),
    (5, 100, 0.95, (0.0215436792, 0.1117504692), (0.0164318792, 0.1128349111)),
    (20, 20, 0.95, (0.8388748419, 1), (0.8315665290, 1)),
]


@pytest.mark.parametrize(("k", "n", "level", "score", "exact"), ROWS)
def test_intervals(k: int, n: int, level: float, score: tuple[float, float], exact: tuple[float, float]) -> None:
    """Computed with scipy.stats.binomtest; statsmodels agrees within 4e-13."""
    found = wilson(k, n, level)
    assert (found.low, found.high) == pytest.approx(score, abs=6e-11)
    found = clopper_pearson(k, n, level)
    assert (found.low, found.high) == pytest.approx(exact, abs=6e-11)
    for method, ours in (("wilson", wilson(k, n, level)), ("exact", clopper_pearson(k, n, level))):
        other = binomtest(k, n).proportion_ci(level, method)
        assert (ours.low, ours.high) == pytest.approx((other.low, other.high), abs=1e-12)


@pytest.mark.parametrize(
    ("k", "n", "score", "exact"),
    [
        (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
        (0, 20, (0, 0.1611), (0, 0.1684)),
        (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
    ],
)
def test_newcombe(k: int, n: int, score: tuple[float, float], exact: tuple[float, float]) -> None:
    """Newcombe 1998, Table I (from memory)."""
    assert (wilson(k, n).low, wilson(k, n).high) == pytest.approx(score, abs=5.01e-5)
    assert (clopper_pearson(k, n).low, clopper_pearson(k, n).high) == pytest.approx(exact, abs=5.01e-5)


def test_printed_by_scipy_and_nist() -> None:
    """SciPy's documentation prints .05819170033997342, .26739600249700846 for 7 of 50.

    NIST e-Handbook 7.2.4.2, 4 of 20 at 90 %: .071354, .401029 (setting read, figures from memory).
    """
    found = clopper_pearson(7, 50)
    assert (found.low, found.high) == pytest.approx((0.05819170033997342, 0.26739600249700846), abs=1e-12)
    found = clopper_pearson(4, 20, 0.90)
    assert (found.low, found.high) == pytest.approx((0.071354, 0.401029), abs=1.1e-6)


@pytest.mark.parametrize("n", [1, 10, 20, 100])
def test_closed_forms_at_the_ends(n: int) -> None:
    """None of n: upper end 1 - 0.025^(1/n), lower exactly 0; all of n: lower end 0.025^(1/n)."""
    assert clopper_pearson(0, n).low == 0
    assert clopper_pearson(0, n).high == pytest.approx(1 - 0.025 ** (1 / n), rel=1e-12)
    assert clopper_pearson(n, n).low == pytest.approx(0.025 ** (1 / n), rel=1e-12)
    assert clopper_pearson(n, n).high == 1
