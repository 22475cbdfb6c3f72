"""Comparing lots against published tables, SciPy, statsmodels and statistics packages' own examples."""

import random

import pytest
from scipy.stats import fisher_exact, hypergeom

from shop.calc.lots import fisher_worse, holm, inspect, sample_needed
from tests.published.oracles import oracle, quietly


def test_fishers_tea_tasting() -> None:
    """Fisher, The Design of Experiments 1935: three of four right, 17/70.

    Printed 0.2429 in Penn State's course STAT 504, lesson 3 (TeaLady.out).
    """
    assert fisher_worse(3, 4, 1, 4) == pytest.approx(17 / 70, rel=1e-12)
    assert round(fisher_worse(3, 4, 1, 4), 4) == 0.2429
    assert fisher_worse(4, 4, 0, 4) == pytest.approx(1 / 70, rel=1e-12)


def test_fishers_convicted_twins() -> None:
    """Fisher 1970, as in the reference of R's fisher.test, which prints 0.0004652 (from memory): 10 of 13, 2 of 17."""
    assert fisher_worse(10, 13, 2, 17) == pytest.approx(0.0004652, abs=5e-8)


def test_fishers_test_of_scipy() -> None:
    rng = random.Random(4)
    for _ in range(400):
        cut, rest = rng.randint(1, 300), rng.randint(1, 3000)
        bad, others = rng.randint(0, cut), rng.randint(0, rest)
        theirs = fisher_exact([[bad, cut - bad], [others, rest - others]], alternative="greater")[1]
        assert fisher_worse(bad, cut, others, rest) == pytest.approx(theirs, rel=1e-9, abs=1e-300)


@pytest.mark.parametrize(
    ("raw", "adjusted"),
    [
        # documentation of the package pingouin, function holm
        ([0.50, 0.003, 0.32, 0.054, 0.0003], [0.64, 0.012, 0.64, 0.162, 0.0015]),
        # documentation of the JavaScript library stdlib, function padjust, to three digits
        ([0.319, 0.201, 0.4, 0.374, 0.113], [0.957, 0.804, 0.957, 0.957, 0.565]),
    ],
)
def test_holms_adjustment_as_printed(raw: list[float], adjusted: list[float]) -> None:
    assert holm(raw) == pytest.approx(adjusted, abs=5.01e-4)


def test_holms_adjustment_of_statsmodels() -> None:
    multitest = oracle("statsmodels.stats.multitest")
    rng = random.Random(7)
    for count in (1, 2, 7, 40):
        raw = [rng.random() ** 4 for _ in range(count)]
        with quietly():
            theirs = multitest.multipletests(raw, method="holm")[1]
        assert holm(raw) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("size", [60, 100, 200, 500, 1000, 10_000])
@pytest.mark.parametrize("share", [0.02, 0.05, 0.1, 0.5])
def test_samples_that_find_a_share(size: int, share: float) -> None:
    """Cannon and Roe 1982: n = (1 - 0.05^(1/D)) (N - (D - 1)/2), an approximation; the formula is from memory."""
    bad = max(1, round(size * share))
    theirs = (1 - 0.05 ** (1 / bad)) * (size - (bad - 1) / 2)
    assert sample_needed(size, bad - 1) == pytest.approx(theirs, abs=1.1)


def test_the_59_of_ninety_five_ninety_five() -> None:
    """A clean sample of 59 shows, 95 % sure, no more than 5 % (common practice, no source)."""
    assert sample_needed(10_000_000, 500_000 - 1) == 59


def test_a_clean_sample_of_a_lot_without_end() -> None:
    """1 - 0.05^(1/n), the exact form of the rule of three."""
    assert inspect(0, 59, 10_000_000).most_share == pytest.approx(1 - 0.05 ** (1 / 59), rel=1e-4)
    assert inspect(0, 100, 10_000_000).most_share == pytest.approx(3 / 100, rel=0.02)


@pytest.mark.parametrize(("defects", "looked_at", "size"), [(0, 20, 500), (2, 30, 200), (5, 80, 81), (7, 50, 100_000)])
def test_a_samples_bound_by_scipys_hypergeometric(defects: int, looked_at: int, size: int) -> None:
    most = inspect(defects, looked_at, size).most_defects
    assert hypergeom.cdf(defects, size, most, looked_at) > 0.05
    if most < size - looked_at + defects:
        assert hypergeom.cdf(defects, size, most + 1, looked_at) <= 0.05
