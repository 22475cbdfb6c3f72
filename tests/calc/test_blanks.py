"""Blanks for sides and rejects: the plain cases, what always holds, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.blanks import (
    ENOUGH_SIDES,
    GUESS,
    GUESS_WORTH,
    RejectShare,
    blanks_needed,
    blanks_needed_from,
    blanks_to_have,
    chance_of_all_good,
    known_share,
    most_blanks,
    reject_share,
)


def test_without_rejects_a_side_takes_one_blank() -> None:
    assert blanks_needed(4, 0.0) == 4
    assert blanks_needed(0, 0.3) == 0
    assert blanks_needed_from(0, RejectShare(1, 1)) == 0


def test_one_side_in_two_spoiled() -> None:
    """One good of n blanks: 1 - (1/2)^n; at 95 % that is 5 blanks, 96.9 %."""
    assert blanks_needed(1, 0.5, 0.95) == 5
    assert blanks_needed(1, 0.5, 0.9375) == 4


def test_a_share_known_from_few_sides_asks_for_more_than_one_known_well() -> None:
    few, many = RejectShare(9, 1), RejectShare(900, 100)
    assert blanks_needed_from(6, few) > blanks_needed_from(6, many) == blanks_needed(6, 0.1)


def test_fellows_speak_for_a_lot_that_is_new_and_hardly_for_one_that_is_known() -> None:
    new = reject_share(0, 0, fellows_rejects=40, fellows_cut=200)
    assert new.mean == pytest.approx((0.5 + 4) / 21)
    known = reject_share(10, 1000, fellows_rejects=40, fellows_cut=200)
    assert known.mean == pytest.approx(14.5 / 1021)
    assert reject_share(0, 0).mean == 0.5
    few = reject_share(0, 0, fellows_rejects=1, fellows_cut=5)
    assert (few.good, few.rejects) == (4.5, 1.5)


@given(
    sides=st.integers(1, 24),
    good=st.floats(0.5, 500),
    bad=st.floats(0.5, 60),
    confidence=st.sampled_from([0.5, 0.8, 0.9, 0.95]),
)
def test_so_many_are_enough_and_one_fewer_is_not(sides: int, good: float, bad: float, confidence: float) -> None:
    share = RejectShare(good + 2, bad)
    needed = blanks_needed_from(sides, share, confidence)
    assert chance_of_all_good(sides, needed, share) >= confidence - 1e-9
    assert needed == sides or chance_of_all_good(sides, needed - 1, share) < confidence + 1e-9


@pytest.mark.parametrize(("rejects", "cut"), [(0, 0), (1, 1), (3, 3), (0, 1), (9, 9), (0, 9)])
def test_few_sides_tell_nothing_by_themselves(rejects: int, cut: int) -> None:
    assert known_share(rejects, cut) is None
    assert known_share(rejects, cut, fellows_rejects=0, fellows_cut=ENOUGH_SIDES - cut - 1) is None
    assert known_share(rejects, cut, fellows_rejects=0, fellows_cut=ENOUGH_SIDES - cut) is not None


def test_a_guess_is_a_beta_prior_with_that_mean_and_weight() -> None:
    guessed = reject_share(0, 0, guess=0.1)
    assert guessed.mean == pytest.approx(0.1)
    assert guessed.good + guessed.rejects == pytest.approx(GUESS_WORTH)
    one_bad = reject_share(1, 1, guess=0.1)
    assert one_bad.mean == pytest.approx((0.8 + 1) / 9)
    assert reject_share(300, 1000, guess=0.1).mean == pytest.approx(0.3, abs=0.002)
    for wrong in (0.0, 0.6, float("nan")):
        with pytest.raises(ValueError, match="guess"):
            reject_share(0, 0, guess=wrong)


@given(
    sides=st.integers(1, 12),
    cut=st.integers(0, 40),
    bad=st.floats(0, 1),
    guess=st.none() | st.floats(*GUESS),
    confidence=st.sampled_from([0.5, 0.8, 0.95, 0.99, 0.999]),
)
def test_no_absurd_number_comes_out(sides: int, cut: int, bad: float, guess: float | None, confidence: float) -> None:
    share = known_share(round(bad * cut), cut, guess=guess)
    if share is None:
        assert guess is None
        assert cut < ENOUGH_SIDES
        return
    needed = blanks_to_have(sides, share, confidence)
    if needed is None:
        assert chance_of_all_good(sides, most_blanks(sides), share) < confidence
    else:
        assert sides <= needed <= 4 * sides + 4
        assert needed == blanks_needed_from(sides, share, confidence)


def test_with_a_usual_guess_the_number_is_a_usual_one() -> None:
    for guess, numbers in ((0.05, (1, 3, 4, 7)), (0.1, (2, 3, 5, 8)), (0.2, (3, 5, 7, 10))):
        share = reject_share(0, 0, guess=guess)
        assert tuple(blanks_to_have(sides, share) for sides in (1, 2, 3, 5)) == numbers, guess


def test_where_nearly_all_are_rejected_no_number_is_told() -> None:
    assert blanks_to_have(1, RejectShare(0.5, 10.5)) is None
    assert blanks_to_have(2, RejectShare(0.5, 1e6)) is None
    share = known_share(10, 10, guess=0.1)
    assert share is not None
    assert blanks_to_have(2, share) is None


def test_fewer_blanks_than_sides_cannot_do() -> None:
    assert chance_of_all_good(4, 3, RejectShare(10, 1)) == 0


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"sides": -1}, "sides"),
        ({"sides": 2.5}, "sides"),
        ({"reject_rate": 1.0}, "reject_rate"),
        ({"reject_rate": -0.1}, "reject_rate"),
        ({"confidence": 1.0}, "confidence"),
        ({"reject_rate": 0.999999}, "confidence"),
    ],
)
def test_what_cannot_be_is_refused(change: dict[str, float], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        blanks_needed(**{"sides": 4, "reject_rate": 0.1, "confidence": 0.95} | change)  # type: ignore[arg-type]


def test_counts_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="rejects"):
        reject_share(5, 4)
