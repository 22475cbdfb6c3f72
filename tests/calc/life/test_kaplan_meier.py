"""The product-limit estimate on cases small enough to work by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.life import kaplan_meier


def test_with_nothing_running_it_is_the_share_left() -> None:
    steps = kaplan_meier([3, 1, 2, 4], [True] * 4)
    assert [step.hours for step in steps] == [1, 2, 3, 4]
    assert [step.survival for step in steps] == pytest.approx([0.75, 0.5, 0.25, 0])
    assert [step.at_risk for step in steps] == [4, 3, 2, 1]
    assert steps[1].se == pytest.approx(math.sqrt(0.5 * 0.5 / 4))  # binomial


def test_a_life_still_running_counts_until_it_is_lost_from_sight() -> None:
    steps = kaplan_meier([1, 2, 2, 3], [True, False, True, True])
    assert [(step.hours, step.at_risk, step.ended) for step in steps] == [(1, 4, 1), (2, 3, 1), (3, 1, 1)]
    assert [step.survival for step in steps] == pytest.approx([3 / 4, 3 / 4 * 2 / 3, 0])


def test_where_none_is_left_the_last_upper_end_stays() -> None:
    *_, before, last = kaplan_meier([1, 2, 3], [True] * 3)
    assert (last.survival, last.se, last.low, last.high) == (0, 0, 0, before.high)


def test_no_life_ended_no_step() -> None:
    assert kaplan_meier([4, 5], [False, False]) == []
    assert kaplan_meier([], []) == []


def test_bad_lives_are_refused() -> None:
    with pytest.raises(ValueError, match="ended must have as many"):
        kaplan_meier([1, 2], [True])
    with pytest.raises(ValueError, match="level must be"):
        kaplan_meier([1, 2], [True, True], 1.5)


@given(st.lists(st.tuples(st.floats(0.01, 1e5), st.booleans()), max_size=40))
def test_it_only_falls_and_stays_inside_its_band(lives: list[tuple[float, bool]]) -> None:
    steps = kaplan_meier([h for h, _ in lives], [e for _, e in lives])
    survivals = [1.0, *(step.survival for step in steps)]
    assert survivals == sorted(survivals, reverse=True)
    assert sum(step.ended for step in steps) == sum(e for _, e in lives)
    for step in steps:
        assert 0 <= step.low <= step.survival <= step.high <= 1
        assert step.se >= 0
