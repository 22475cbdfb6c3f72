"""Learned lead times: from a promise alone to many orders, open orders as far as they have waited, and their edges."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import lognorm, norm, t

from shop.calc.demand import LeadTime, lead_time

DAYS = st.integers(0, 730)


def test_before_any_order_it_is_the_promise_with_room_for_doubt() -> None:
    found = lead_time([], promised_days=42)
    assert found.quantile(0.5) == 42
    assert found.quantile(0.05) < 28
    assert found.quantile(0.95) > 60
    assert (found.basis, found.orders) == ("promise", 0)


def test_without_a_promise_it_is_three_weeks_more_or_less() -> None:
    found = lead_time([])
    assert found.quantile(0.5) == 21
    assert found.sd_days > lead_time([], promised_days=21).sd_days
    assert found.basis == "guess"


@pytest.mark.parametrize(
    ("arrived", "still_open", "promise", "basis"),
    [
        ([40], [], 42, "orders_and_promise"),
        ([], [10], 42, "orders_and_promise"),
        ([40], [], None, "orders_and_guess"),
        ([40] * 8, [], 42, "orders"),
        ([40] * 8, [], None, "orders"),
    ],
)
def test_what_it_rests_on_is_said(arrived: list[int], still_open: list[int], promise: int | None, basis: str) -> None:
    found = lead_time(arrived, still_open=still_open, promised_days=promise)
    assert (found.basis, found.orders, found.open_orders, found.promised_days) == (
        basis,
        len(arrived),
        len(still_open),
        promise,
    )


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (lead_time([], promised_days=1), "No order has come yet: this rests on the promise of 1 day."),
        (
            lead_time([]),
            "No order has come yet: this rests on no promise, so three weeks were guessed to start from.",
        ),
        (
            lead_time([40], still_open=[3], promised_days=42),
            "Rests on 1 order that came and 1 still open, and on the promise of 42 days.",
        ),
        (lead_time([40] * 9), "Rests on 9 orders that came."),
        (LeadTime.known(3), "The lead time was stated."),
    ],
)
def test_it_says_so_in_words(found: LeadTime, words: str) -> None:
    assert found.rests_on == words


def test_orders_outweigh_the_promise_the_more_they_are() -> None:
    middles = [lead_time([70] * n, promised_days=42).quantile(0.5) for n in (0, 1, 2, 4, 8, 30)]
    assert middles == sorted(middles)
    assert middles[0] == 42
    assert middles[-1] == 70


def test_a_promise_plainly_wrong_is_soon_dropped() -> None:
    assert 90 <= lead_time([100, 100, 100], promised_days=14).quantile(0.5) <= 101


def test_an_order_still_open_makes_it_longer_only_once_it_is_late() -> None:
    base = lead_time([50, 55, 61], promised_days=42).mean_days
    assert lead_time([50, 55, 61], still_open=[5], promised_days=42).mean_days == pytest.approx(base, rel=1e-3)
    assert lead_time([50, 55, 61], still_open=[80], promised_days=42).mean_days > base + 3


def test_equal_times_are_not_made_certain() -> None:
    found = lead_time([30] * 5, promised_days=30)
    assert found.sd_days > 1
    assert found.chance_by(29) > 0.1


USUAL = [48, 52, 45, 57, 50, 44, 61, 53, 47, 42]


@pytest.mark.parametrize("odd", [0, 1, 3, 160, 300, 730])
def test_one_unusual_order_barely_moves_it(odd: int) -> None:
    """An order fetched the same day, or entered a year late, among ten of about seven weeks."""
    without, found = lead_time(USUAL, promised_days=42), lead_time([*USUAL, odd], promised_days=42)
    for q in (0.05, 0.5, 0.95):
        assert found.quantile(q) == pytest.approx(without.quantile(q), abs=2)
    assert found.mean_days == pytest.approx(without.mean_days, abs=1)
    assert (without.unusual, found.unusual) == (0, 1)
    assert found.rests_on == "Rests on 11 orders that came; 1 unusual order counts for little."


def test_an_order_forgotten_for_a_year_barely_moves_it_either() -> None:
    found = lead_time(USUAL, still_open=[365], promised_days=42)
    assert found.quantile(0.95) == pytest.approx(lead_time(USUAL, promised_days=42).quantile(0.95), abs=2)


MONTH = [28, 31, 29, 33, 30, 27, 32, 30, 31, 29]


@pytest.mark.parametrize("late", [[90, 90], [85, 110], [150, 400]])
def test_two_very_late_among_twelve_are_how_it_sometimes_is(late: list[int]) -> None:
    """The next is as late in one of ten: as they were among twelve orders and eight usual ones more."""
    without, found = lead_time(MONTH, promised_days=30), lead_time([*MONTH, *late], promised_days=30)
    assert found.quantile(0.5) == pytest.approx(without.quantile(0.5), abs=1)
    assert 1 - found.chance_by(60) == pytest.approx(2 / 20, abs=0.005)
    assert min(late) - 5 <= found.quantile(0.95) <= max(late) + 40
    assert (found.unusual, found.exceptions) == (0, 2)
    assert found.rests_on == (
        "Rests on 12 orders that came; 2 unusual orders count as what can happen, not as what is usual."
    )
    # and one that has waited longer than any usual one is then taken for such a one
    assert found.waited(60).quantile(0.5) == pytest.approx(min(late) - 60, abs=20 if late[0] < 150 else 260)


def test_the_more_of_them_were_late_the_likelier_the_next_is() -> None:
    chances = [1 - lead_time([*MONTH * 2, *[90] * n], promised_days=30).chance_by(60) for n in range(5)]
    assert chances[0] == pytest.approx(chances[1], abs=0.001)
    assert chances[1:] == sorted(chances[1:])
    assert chances[4] == pytest.approx(4 / 32, abs=0.01)


def test_two_fetched_the_same_day_count_as_early_ones_and_one_late_one_does_not_join_them() -> None:
    found = lead_time([*MONTH, 0, 0, 300], promised_days=30)
    assert found.chance_by(3) == pytest.approx(2 / 21, abs=0.005)
    assert 1 - found.chance_by(60) < 0.005
    assert (found.unusual, found.exceptions) == (1, 2)
    assert found.odd_words == (
        "2 unusual orders count as what can happen, not as what is usual; 1 more unusual order counts for little"
    )


def test_orders_still_open_far_beyond_the_usual_count_with_those_that_came_late() -> None:
    alone, found = (lead_time([*MONTH, *late], still_open=[120], promised_days=30) for late in ([], [90]))
    assert alone.quantile(0.95) == pytest.approx(lead_time(MONTH, promised_days=30).quantile(0.95), abs=1)
    assert (alone.exceptions, found.exceptions, found.unusual) == (0, 2, 0)
    assert 1 - found.chance_by(60) == pytest.approx(2 / 20, abs=0.005)
    assert 1 - found.chance_by(119) == pytest.approx(1 / 20, abs=0.01)  # it cannot take less than it has


def test_late_but_not_unheard_of_still_counts() -> None:
    assert lead_time([*USUAL, 80], promised_days=42).quantile(0.95) > lead_time(USUAL, promised_days=42).quantile(0.95)


def test_where_most_are_such_they_are_the_usual() -> None:
    found = lead_time([3, 2, 4, 3, 3, 2, 50], promised_days=42)
    assert found.quantile(0.5) in (2, 3)
    assert found.unusual == 1


def test_it_is_the_posterior_worked_on_a_fine_grid() -> None:
    """The same model by brute force: 400 x 300 points, whole-day chances from SciPy's log-normal, and one order
    in fifty that may have taken anything."""
    arrived, waiting, promise = [33, 41, 58], [49], 35
    middle = np.linspace(math.log(5), math.log(300), 400)[:, None]
    spread = np.exp(np.linspace(math.log(0.02), math.log(2.5), 300))[None, :]
    log = t.logpdf(middle, 3, math.log(promise), math.log(1.5) / t.ppf(0.95, 3))
    log = log + norm.logpdf(np.log(spread), math.log(0.2), math.log(2) / norm.ppf(0.95))
    scale = np.exp(middle)
    for day in arrived:
        day_chance = lognorm.cdf(day + 0.5, spread, 0, scale) - lognorm.cdf(day - 0.5, spread, 0, scale)
        log = log + np.log(0.98 * day_chance + 0.02 * math.log((day + 0.5) / (day - 0.5)) / math.log(730.5 / 0.25))
    for day in waiting:
        longer = math.log(730.5 / (day - 0.5)) / math.log(730.5 / 0.25)
        log = log + np.log(0.98 * lognorm.sf(day - 0.5, spread, 0, scale) + 0.02 * longer)
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    found = lead_time(arrived, still_open=waiting, promised_days=promise)
    for day in (20, 30, 40, 50, 70, 100, 150):
        exact = float((weight * lognorm.cdf(day + 0.5, spread, 0, scale)).sum())
        assert found.chance_by(day) == pytest.approx(exact, abs=3e-4)


def test_its_quantiles_come_true_as_often_as_they_say() -> None:
    """Suppliers drawn at random about their promises, four orders each: the nine-in-ten day holds nine times in ten."""
    rng = np.random.default_rng(2)
    held = []
    for _ in range(400):
        typical = 40 * math.exp(0.17 * rng.standard_t(3))
        spread = 0.2 * math.exp(0.42 * rng.normal())
        *past, coming = np.clip(np.rint(typical * np.exp(spread * rng.normal(size=5))), 0, 730).astype(int).tolist()
        held.append(coming <= lead_time(past, promised_days=40).quantile(0.9))
    assert sum(held) / 400 == pytest.approx(0.9, abs=0.045)  # three standard errors


def test_what_has_waited_has_less_to_come_and_cannot_be_early() -> None:
    whole = LeadTime.about(40, 10)
    left = whole.waited(30)
    assert left.mean_days == pytest.approx(
        math.fsum((day - 30) * p for day, p in enumerate(whole.chances) if day >= 30) / (1 - whole.chance_by(29))
    )
    assert whole.waited(0).chances == pytest.approx(whole.chances)


def test_what_is_later_than_it_could_be_is_expected_any_day() -> None:
    left = LeadTime.known(30).waited(45)
    assert left.mean_days == pytest.approx(6.5)
    assert left.quantile(0.999) == 13


def test_a_stated_time_is_what_was_stated() -> None:
    assert LeadTime.known(30).chances[30] == 1
    assert (LeadTime.known(30).mean_days, LeadTime.known(30).sd_days) == (30, 0)
    about = LeadTime.about(30, 5)
    assert (about.mean_days, about.sd_days) == pytest.approx((30, 5), rel=5e-3)
    assert LeadTime.about(30, 0) == LeadTime.known(30)
    assert about.basis == "stated"


@given(
    arrived=st.lists(DAYS, max_size=12),
    still_open=st.lists(DAYS, max_size=4),
    promised=st.none() | DAYS,
    q=st.floats(0.001, 0.999),
    waited=st.integers(0, 1000),
)
@settings(max_examples=60, deadline=None)
def test_chances_add_up_and_nothing_is_nan(
    arrived: list[int], still_open: list[int], promised: int | None, q: float, waited: int
) -> None:
    found = lead_time(arrived, still_open=still_open, promised_days=promised)
    for each in (found, found.waited(waited)):
        assert math.fsum(each.chances) == pytest.approx(1)
        assert min(each.chances) >= 0
        assert math.isfinite(each.mean_days)
        assert math.isfinite(each.sd_days)
        assert each.chance_by(each.quantile(q)) >= q - 1e-9


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: lead_time([-1]), "arrived"),
        (lambda: lead_time([1.5]), "arrived"),  # type: ignore[list-item]
        (lambda: lead_time([1] * 1001), "arrived"),
        (lambda: lead_time([], still_open=[731]), "still_open"),
        (lambda: lead_time([], promised_days=-3), "promised_days"),
        (lambda: LeadTime.known(-1), "days"),
        (lambda: LeadTime(()), "chances"),
        (lambda: LeadTime((0.5, 0.6)), "chances"),
        (lambda: LeadTime((1.5, -0.5)), "chances"),
        (lambda: LeadTime((float("nan"),)), "chances"),
        (lambda: LeadTime.about(0, 1), "mean_days"),
        (lambda: LeadTime.about(10, -1), "sd_days"),
        (lambda: LeadTime.known(3).quantile(0), "q"),
        (lambda: LeadTime.known(3).chance_by(-1), "days"),
        (lambda: LeadTime.known(3).waited(-1), "days"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()
