"""The discounted gamma-Poisson forecast: exact cases, its chances coming true, and its edges."""

import math
import random
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.demand import DemandForecast, back_test, croston


def test_without_discount_it_is_the_plain_average_with_the_guess() -> None:
    forecast = DemandForecast([2, 0, 4, 2], discount=1, guess=5, guess_weeks=2)
    assert forecast.per_week == pytest.approx((5 * 2 + 8) / (2 + 4))


def test_before_any_week_it_is_the_guess() -> None:
    assert DemandForecast([], guess=3).per_week == pytest.approx(3)
    assert DemandForecast([], guess=3).total(2).mean == pytest.approx(6)


def test_older_weeks_count_for_less() -> None:
    assert DemandForecast([9, 0, 0, 0]).per_week < DemandForecast([0, 0, 0, 9]).per_week
    forgetful = DemandForecast([9, 0, 0, 0], discount=0.6)
    assert forgetful.per_week < DemandForecast([9, 0, 0, 0], discount=1).per_week


def test_the_total_is_a_negative_binomial() -> None:
    """Against the sum of its probabilities, worked from one to the next."""
    total = DemandForecast([2, 0, 4, 2]).total(3)
    ((_, shape, odds),) = total.parts
    chance = (1 / (1 + odds)) ** shape
    summed, mean, square = 0.0, 0.0, 0.0
    for count in range(400):
        summed += chance
        mean += count * chance
        square += count * count * chance
        if count < 30:
            assert total.chance_at_most(count) == pytest.approx(summed, abs=1e-12)
        chance *= (shape + count) / (count + 1) * odds / (1 + odds)
    assert total.mean == pytest.approx(mean)
    assert total.sd == pytest.approx(math.sqrt(square - mean * mean))


def test_a_quantile_is_the_least_that_serves() -> None:
    total = DemandForecast([2, 0, 4, 2]).total(3)
    for q in (0.01, 0.5, 0.9, 0.99, 0.9999):
        enough = total.quantile(q)
        assert total.chance_at_most(enough) >= q
        assert enough == 0 or total.chance_at_most(enough - 1) < q


def test_booked_sides_come_on_top() -> None:
    forecast = DemandForecast([2, 0, 4, 2])
    free, booked = forecast.total(3), forecast.total(3, known=5)
    assert booked.mean == pytest.approx(free.mean + 5)
    assert booked.sd == pytest.approx(free.sd)
    assert booked.quantile(0.9) == free.quantile(0.9) + 5
    assert booked.chance_at_most(4) == 0
    assert booked.chance_of_running_out(4) == 1


def test_an_unsure_lead_time_needs_more_than_its_mean() -> None:
    forecast = DemandForecast([5] * 40)
    sure, unsure = forecast.total(5), forecast.over_lead_time({2: 1, 8: 1})
    assert unsure.mean == pytest.approx(sure.mean)
    assert unsure.sd > sure.sd
    assert unsure.quantile(0.95) > sure.quantile(0.95)
    assert forecast.over_lead_time({5: 3}).quantile(0.95) == sure.quantile(0.95)


def test_no_weeks_no_demand() -> None:
    now = DemandForecast([2, 0, 4]).total(0)
    assert (now.mean, now.sd, now.chance_at_most(0), now.quantile(0.99)) == (0, 0, 1, 0)


def test_its_chances_come_true_as_often_as_it_says() -> None:
    """Rooms drawn at random, each with its own steady rate: the nine-in-ten stock must serve nine times in ten."""
    rng = random.Random(3)
    served = []
    for _ in range(1500):
        rate = rng.gammavariate(2, 0.5)
        weeks = [_poisson(rng, rate) for _ in range(15)]
        total = DemandForecast(weeks, discount=1, guess=1, guess_weeks=2).total(4)
        served.append(total.chance_at_most(sum(_poisson(rng, rate) for _ in range(4))))
    # whole numbers make it serve a little more often than asked, never less
    for level in (0.5, 0.8, 0.95):
        assert sum(each < level for each in served) / 1500 <= level + 0.03
    assert sum(each >= 0.95 for each in served) / 1500 == pytest.approx(0.09, abs=0.06)


def _poisson(rng: random.Random, rate: float) -> int:
    count, reached = 0, rng.expovariate(1)
    while reached < rate:
        count += 1
        reached += rng.expovariate(1)
    return count


def test_it_can_be_held_beside_the_others() -> None:
    rng = random.Random(5)
    counts = [_poisson(rng, 0.6) for _ in range(150)]
    ours = back_test(counts, lambda past: DemandForecast(past).per_week)
    theirs = back_test(counts, lambda past: croston(past).forecast)
    assert abs(ours.bias) < abs(theirs.bias)
    assert ours.rms_error < theirs.rms_error


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: DemandForecast([-1]), r"counts\[0\]"),
        (lambda: DemandForecast([1], discount=0.4), "discount"),
        (lambda: DemandForecast([1], guess=0), "guess"),
        (lambda: DemandForecast([1], guess_weeks=0), "guess_weeks"),
        (lambda: DemandForecast([1]).total(-1), "weeks"),
        (lambda: DemandForecast([1]).total(1, known=-1), "known"),
        (lambda: DemandForecast([1]).over_lead_time({}), "weights"),
        (lambda: DemandForecast([1]).over_lead_time({2: 0}), "weights"),
        (lambda: DemandForecast([1]).total(1).quantile(1), "q"),
        (lambda: DemandForecast([1]).total(1).chance_at_most(-1), "count"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()


@given(
    counts=st.lists(st.integers(0, 1000), max_size=60),
    discount=st.floats(0.5, 1),
    guess=st.floats(0.001, 1000),
    guess_weeks=st.floats(0.01, 100),
    weeks=st.floats(0, 100),
    q=st.floats(0.001, 0.999),
)
def test_no_answer_is_nan(
    counts: list[int], discount: float, guess: float, guess_weeks: float, weeks: float, q: float
) -> None:
    total = DemandForecast(counts, discount=discount, guess=guess, guess_weeks=guess_weeks).total(weeks)
    assert math.isfinite(total.mean)
    assert math.isfinite(total.sd)
    assert 0 <= total.chance_at_most(10) <= 1
    assert total.chance_at_most(total.quantile(q)) >= q
