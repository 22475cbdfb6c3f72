"""Intervals for a share: edges, coverage, refusals."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.share import clopper_pearson, wilson

BOTH = (wilson, clopper_pearson)


@pytest.mark.parametrize("interval", BOTH)
def test_none_and_all_touch_the_ends(interval: Callable[..., tuple[float, float, float]]) -> None:
    low, middle, high = interval(0, 20)
    assert low == middle == 0 < high < 0.2
    low, middle, high = interval(20, 20)
    assert high == middle == 1 > low > 0.8


@pytest.mark.parametrize("interval", BOTH)
def test_more_counted_is_surer(interval: Callable[..., tuple[float, float, float]]) -> None:
    few, many = interval(3, 20), interval(30, 200)
    assert few[0] < many[0] < many[2] < few[2]
    assert interval(3, 20, 0.99)[2] > few[2]


def test_the_exact_interval_holds_at_least_its_level() -> None:
    """Over every count out of 25, weighted by how often it comes."""
    from math import comb

    for share in (0.03, 0.1, 0.31, 0.5):
        held = sum(
            comb(25, k) * share**k * (1 - share) ** (25 - k)
            for k in range(26)
            if clopper_pearson(k, 25).low <= share <= clopper_pearson(k, 25).high
        )
        assert held >= 0.95


@pytest.mark.parametrize("interval", BOTH)
@pytest.mark.parametrize(
    ("given_counts", "name"),
    [((-1, 5), "of_them"), ((6, 5), "of_them"), ((0, 0), "all_of_them"), ((1.5, 5), "of_them"), ((1, 5, 1), "level")],
)
def test_what_makes_no_sense_is_refused_by_name(
    interval: Callable[..., object], given_counts: tuple[float, ...], name: str
) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must be"):
        interval(*given_counts)


@given(n=st.integers(1, 10**9), share=st.floats(0, 1), level=st.floats(0.001, 0.999))
def test_no_answer_is_nan(n: int, share: float, level: float) -> None:
    k = round(n * share)
    for interval in BOTH:
        low, middle, high = interval(k, n, level)
        assert 0 <= low <= middle <= high <= 1
