"""Counts on a lattice: chances, steps of a size, and Gauss's nodes of a gamma."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import nbinom, poisson

from shop.calc.demand import lattice


@pytest.mark.parametrize(("mean", "odds"), [(0.2, 0.5), (3, 2.0), (40, 0.1), (900, 0.05), (1200, 30.0)])
def test_chances_are_scipys_negative_binomial(mean: float, odds: float) -> None:
    found = lattice.chances(np.array([mean]), np.array([odds]), 2000)[0]
    assert found == pytest.approx(nbinom.pmf(np.arange(2000), mean / odds, 1 / (1 + odds)), abs=1e-12)


@pytest.mark.parametrize("mean", [0.0, 0.2, 30, 800])
def test_without_odds_they_are_poisson(mean: float) -> None:
    found = lattice.chances(np.array([mean]), np.array([0.0]), 1200)[0]
    assert found == pytest.approx(poisson.pmf(np.arange(1200), mean), abs=1e-9)


@given(mean=st.floats(0, 1e6), lump=st.floats(1, 1e4), grain=st.sampled_from([1, 2, 5, 10, 100, 5000]))
def test_steps_keep_the_mean_and_all_but_a_step_of_the_variance(mean: float, lump: float, grain: int) -> None:
    certain, left, odds = (
        float(each[0]) for each in lattice.in_steps(np.array([mean]), np.array([mean * lump]), np.array([grain]))
    )
    assert (certain + left) * grain == pytest.approx(mean, abs=1e-6)
    assert left >= 0
    assert odds >= 0
    variance = left * (1 + odds) * grain**2
    assert mean * lump * (1 - 1e-6) - 1e-3 <= variance <= mean * lump + grain**2 * (1 + 1e-6)
    if grain == 1:
        assert certain == 0


@given(most=st.floats(0, 1e9))
def test_the_step_is_the_smallest_of_the_ladder_that_fits(most: float) -> None:
    step = int(lattice.grain_for(np.array([most]), 256)[0])
    assert step * 255 >= most * (1 - 1e-12)
    assert f"{step}".rstrip("0") in ("1", "2", "5")
    assert step == 1 or step / 2.5 * 255 < most


@pytest.mark.parametrize("shape", [1e-6, 0.3, 4.0, 250.0])
def test_nodes_hold_the_moments_of_the_gamma(shape: float) -> None:
    nodes, weights = lattice.rate_nodes(np.array([shape]), 7)
    for power in range(1, 8):
        exact = math.prod(shape + k for k in range(power))
        assert float((weights * nodes**power).sum()) == pytest.approx(exact, rel=1e-8)
    assert float(weights.sum()) == pytest.approx(1)
