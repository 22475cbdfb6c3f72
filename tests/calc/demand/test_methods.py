"""The four methods with one face: their rates, what they rest on, and the distribution they give."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.demand import METHODS, DemandForecast, Forecast, croston, sba, tsb
from shop.calc.demand.methods import check_series, prior, roll

COUNTS = st.lists(st.integers(0, 200), min_size=1, max_size=60)


def rolled(series: list[list[int]], expected: float = float("nan")):  # type: ignore[no-untyped-def]
    known = check_series(series)
    guesses = np.full(len(series), expected)
    return roll(known, *prior(known, guesses, np.full(len(series), 4.0)))


@given(series=st.lists(COUNTS, min_size=1, max_size=4))
def test_all_items_at_once_say_what_each_says_alone(series: list[list[int]]) -> None:
    found = rolled(series)
    for place, counts in enumerate(series):
        rates = found.per_week[len(counts), :, place]
        alone = [croston(counts).forecast, sba(counts).forecast, tsb(counts).forecast]
        assert rates[1:] == pytest.approx(alone, rel=1e-9, abs=1e-12)


@given(counts=COUNTS, expected=st.floats(0.01, 100))
def test_ours_is_the_discounted_gamma_poisson(counts: list[int], expected: float) -> None:
    ours = DemandForecast(counts, guess=expected, guess_weeks=4.0)
    found = rolled([counts], expected)
    assert found.per_week[-1, 0, 0] == pytest.approx(ours.per_week, rel=1e-9)
    assert found.evidence_weeks[-1, 0, 0] == pytest.approx(ours.weeks, rel=1e-9)


@given(counts=COUNTS)
def test_no_week_knows_of_those_after_it(counts: list[int]) -> None:
    whole = rolled([counts], 2.0)
    for seen in {0, len(counts) // 2, len(counts) - 1}:
        part = rolled([counts[:seen]], 2.0)
        for all_of_it, some in zip(whole, part, strict=True):
            assert all_of_it[seen] == pytest.approx(some[seen])


def test_lumpy_weeks_are_known_as_lumpy_and_calm_ones_as_calm() -> None:
    rng = np.random.default_rng(4)
    calm = rng.poisson(6, 300).tolist()
    lumpy = (rng.poisson(1.0, 300) * 6).tolist()
    found = rolled([calm, lumpy]).dispersion[-1]
    assert found[:, 0] == pytest.approx([1.1] * 4, abs=0.2)
    assert found[:, 1] == pytest.approx([6] * 4, abs=1.5)


def test_a_stated_expectation_is_never_surer_than_its_weight() -> None:
    """Four weeks of data: half of it either way, at one a week and at forty."""
    for rate in (1.0, 40.0):
        found = rolled([[]], rate)
        forecast = Forecast("gamma_poisson", *(float(each[0, 0, 0]) for each in found), weeks=0)
        doubt = forecast.per_week * (forecast.dispersion / (forecast.per_week * forecast.evidence_weeks)) ** 0.5
        assert doubt / forecast.per_week == pytest.approx(0.5, rel=0.03)


@given(
    rate=st.floats(0, 1e4),
    evidence=st.floats(0.01, 1000),
    lump=st.floats(1, 100),
    weeks=st.floats(0, 200),
    q=st.floats(0.01, 0.99),
)
def test_a_total_has_the_mean_and_spread_it_says(
    rate: float, evidence: float, lump: float, weeks: float, q: float
) -> None:
    forecast = Forecast("sba", rate, evidence, lump, 10)
    total = forecast.total(weeks, known=3)
    assert total.mean == pytest.approx(forecast.mean(weeks) + 3, rel=1e-6, abs=1e-6)
    assert total.sd == pytest.approx(forecast.sd(weeks), rel=1e-3, abs=1e-3)
    assert total.chance_at_most(total.quantile(q)) >= q


@given(series=st.lists(st.lists(st.floats(0, 1e6), max_size=40), min_size=1, max_size=3))
def test_nothing_is_nan(series: list[list[float]]) -> None:
    found = rolled(series)  # type: ignore[arg-type]
    for each in found:
        assert np.isfinite(each).all()
        assert each.shape[1] == len(METHODS)
    assert (found.dispersion >= 1).all()


@pytest.mark.parametrize("bad", [[1, -1], [1, float("nan")], [float("inf")], ["2"], [True], [1e9], [None]])
def test_a_count_that_makes_no_sense_is_refused_by_name(bad: list[object]) -> None:
    with pytest.raises(ValueError, match=r"^counts\[\d\] must"):
        check_series([[1, 2], bad])  # type: ignore[list-item]


def test_too_long_a_history_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^counts must"):
        check_series([[1] * 1041])
