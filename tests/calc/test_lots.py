"""Comparing lots and judging them by a sample: what must hold whatever the counts."""

from collections.abc import Callable
from fractions import Fraction
from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.lots import LotCount, compare_lots, fisher_worse, holm, inspect, sample_needed

COUNTS = st.integers(0, 40).flatmap(lambda cut: st.builds(LotCount, st.integers(0, cut), st.just(cut)))


@given(lot=COUNTS, rest=COUNTS)
def test_fishers_chance_is_that_of_counting_all_tables(lot: LotCount, rest: LotCount) -> None:
    size, bad = lot.cut + rest.cut, lot.spoiled + rest.spoiled
    worse = sum(comb(bad, k) * comb(size - bad, lot.cut - k) for k in range(lot.spoiled, min(bad, lot.cut) + 1))
    exact = float(Fraction(worse, comb(size, lot.cut)))
    assert fisher_worse(lot.spoiled, lot.cut, rest.spoiled, rest.cut) == pytest.approx(exact, rel=1e-9)


@given(chances=st.lists(st.floats(0, 1), max_size=12))
def test_holm_never_lowers_a_chance_nor_changes_their_order(chances: list[float]) -> None:
    found = holm(chances)
    assert all(p <= q <= 1 for p, q in zip(chances, found, strict=True))
    assert all(q <= min(1, len(chances) * p) + 1e-12 for p, q in zip(chances, found, strict=True))
    order = sorted(range(len(chances)), key=chances.__getitem__)
    assert [found[i] for i in order] == sorted(found)


@given(lots=st.lists(COUNTS, max_size=6))
def test_verdicts_are_in_order_and_add_up(lots: list[LotCount]) -> None:
    found = compare_lots(lots)
    for lot, verdict in zip(lots, found, strict=True):
        assert verdict.fellows.cut + lot.cut == sum(each.cut for each in lots)
        assert 0 <= verdict.p <= verdict.p_adjusted <= 1
        assert (verdict.share is None) == (lot.cut == 0)
        assert verdict.comparisons == (sum(each.cut > 0 for each in lots) if verdict.comparisons else 0)
        if verdict.clearly_worse:
            assert verdict.share is not None
            assert verdict.share.middle > verdict.fellows.spoiled / verdict.fellows.cut


def test_a_bad_lot_is_found_and_a_lone_one_has_nothing_to_be_worse_than() -> None:
    found = compare_lots([LotCount(2, 50), LotCount(1, 40), LotCount(12, 45), LotCount(0, 0)])
    assert [each.clearly_worse for each in found] == [False, False, True, False]
    assert found[2].comparisons == 3
    (alone,) = compare_lots([LotCount(9, 10)])
    assert (alone.p, alone.clearly_worse, alone.comparisons) == (1, False, 0)


def test_good_lots_are_seldom_called_worse_however_many_are_compared() -> None:
    """300 rooms of 20 equal lots: one or more called worse in at most 5 % of rooms, and two standard errors."""
    rng = np.random.default_rng(9)
    rooms = rng.binomial(30, 0.08, (300, 20)).tolist()
    misled = [any(v.clearly_worse for v in compare_lots([LotCount(k, 30) for k in room])) for room in rooms]
    assert sum(misled) / 300 <= 0.05 + 2 * (0.05 * 0.95 / 300) ** 0.5


@given(size=st.integers(1, 300), data=st.data(), level=st.floats(0.5, 0.99))
def test_a_samples_bound_is_the_last_number_still_believable(size: int, data: st.DataObject, level: float) -> None:
    n = data.draw(st.integers(1, size))
    k = data.draw(st.integers(0, n))
    found = inspect(k, n, size, level=level)

    def so_few(bad: int) -> float:
        return sum(comb(bad, i) * comb(size - bad, n - i) for i in range(k + 1)) / comb(size, n)

    assert k <= found.most_defects <= size - n + k
    assert found.most_left == found.most_defects - k
    assert found.most_defects == k or so_few(found.most_defects) > 1 - level - 1e-9
    if found.most_defects < size - n + k:
        assert so_few(found.most_defects + 1) <= 1 - level + 1e-9
    assert found.share.low <= found.share.middle <= found.share.high


@given(size=st.integers(1, 400), data=st.data())
def test_a_sample_is_just_large_enough(size: int, data: st.DataObject) -> None:
    most = data.draw(st.integers(0, size))
    n = sample_needed(size, most)
    assert 0 <= n <= size - most
    if n:
        assert inspect(0, n, size).most_defects <= most
    if n > 1:
        assert inspect(0, n - 1, size).most_defects > most


def test_looking_at_all_leaves_no_doubt() -> None:
    found = inspect(3, 50, 50)
    assert (found.most_defects, found.most_left, found.most_share) == (3, 0, 0.06)


@pytest.mark.parametrize(
    ("ask", "name"),
    [
        (lambda: LotCount(3, 2), "spoiled"),
        (lambda: LotCount(-1, 2), "spoiled"),
        (lambda: LotCount(0, -1), "cut"),
        (lambda: compare_lots([(1, 2)]), "lots"),  # type: ignore[list-item]
        (lambda: compare_lots([], level=1), "level"),
        (lambda: compare_lots([], risk=0), "risk"),
        (lambda: fisher_worse(1, 2, 4, 3), "fellows_spoiled"),
        (lambda: holm([1.2]), r"p_values"),
        (lambda: holm([float("nan")]), r"p_values"),
        (lambda: inspect(0, 0, 10), "looked_at"),
        (lambda: inspect(0, 11, 10), "looked_at"),
        (lambda: inspect(5, 4, 10), "defects"),
        (lambda: inspect(0, 1, 0), "lot_size"),
        (lambda: inspect(0, 1, 5, level=0), "level"),
        (lambda: sample_needed(10, 11), "most_defects"),
    ],
)
def test_what_makes_no_sense_is_refused_by_name(ask: Callable[[], object], name: str) -> None:
    with pytest.raises(ValueError, match=rf"^{name} must"):
        ask()
