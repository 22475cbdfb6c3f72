"""For how long a value lay outside a band."""

from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.air.outside import Piece, Spell, time_outside, time_outside_of_pieces


def test_a_line_that_crosses_an_edge_counts_from_the_crossing() -> None:
    found = time_outside([(0, 20.0), (10, 30.0), (20, 20.0)], None, 25.0, longest_gap_h=24)
    assert (found.known_h, found.above_h, found.below_h) == (20, 10, 0)
    assert found.spells == (Spell(5.0, 15.0, 30.0, True),)


def test_from_below_to_above_is_two_spells() -> None:
    found = time_outside([(0, 10.0), (10, 30.0)], 15.0, 25.0, longest_gap_h=24)
    assert found.spells == (Spell(0, 2.5, 10.0, False), Spell(7.5, 10, 30.0, True))
    assert (found.below_h, found.above_h) == (2.5, 2.5)


def test_where_readings_lie_too_far_apart_nothing_is_known() -> None:
    found = time_outside([(0, 30.0), (6, 30.0), (100, 30.0), (106, 30.0)], None, 25.0, longest_gap_h=24)
    assert (found.known_h, found.above_h) == (12, 12)
    assert [spell.hours for spell in found.spells] == [6, 6]
    alone = time_outside([(0, 20.0), (100, 30.0)], None, 25.0, longest_gap_h=24)
    assert alone.spells == (Spell(100, 100, 30.0, True),)
    assert alone.known_h == 0


def test_no_edges_or_no_readings_is_no_time_outside() -> None:
    assert time_outside([(0, 30.0), (6, 30.0)], None, None, longest_gap_h=24).spells == ()
    assert time_outside([], 15.0, 25.0, longest_gap_h=24).known_h == 0
    assert time_outside([(0, 25.0), (6, 25.0)], 15.0, 25.0, longest_gap_h=24).spells == ()


def test_it_agrees_with_stepping_through_the_line_finely() -> None:
    rng = Random(4)
    points = [(float(hour), rng.uniform(10, 30)) for hour in range(0, 200, 8)]
    found = time_outside(points, 16.0, 24.0, longest_gap_h=10)
    step, above, below = 0.002, 0.0, 0.0
    for (was_h, was), (now_h, now) in pairwise(points):
        for place in range(round((now_h - was_h) / step)):
            value = was + (now - was) * (place + 0.5) * step / (now_h - was_h)
            above += step * (value > 24.0)
            below += step * (value < 16.0)
    assert (found.above_h, found.below_h) == pytest.approx((above, below), abs=0.1)
    assert sum(spell.hours for spell in found.spells) == pytest.approx(found.above_h + found.below_h)


@given(
    steps=st.lists(st.tuples(st.sampled_from([0.25, 1.0, 3.0, 30.0]), st.integers(10, 30)), min_size=1, max_size=40),
    cuts=st.sets(st.integers(0, 40)),
    edges=st.sampled_from([(16.0, 24.0), (None, 24.0), (16.0, None)]),
)
def test_pieces_tell_the_same_as_all_the_readings_they_stand_for(steps, cuts, edges) -> None:
    points: list[tuple[float, float]] = []
    for after, value in steps:
        points.append((points[-1][0] + after if points else 0.0, float(value)))

    def side(value: float) -> int:
        return (value > (edges[1] or 99)) - (value < (edges[0] or -99))

    groups: list[list[tuple[float, float]]] = []
    for place, (hour, value) in enumerate(points):
        last = groups[-1][-1] if groups else None
        if last is None or place in cuts or side(last[1]) != side(value) or hour - last[0] > 24:
            groups.append([])
        groups[-1].append((hour, value))
    pieces = [
        Piece(some[0][0], some[0][1], some[-1][0], some[-1][1], min(v for _, v in some), max(v for _, v in some))
        for some in groups
    ]
    told = time_outside_of_pieces(pieces, *edges, longest_gap_h=24)
    whole = time_outside(points, *edges, longest_gap_h=24)
    assert told.spells == whole.spells
    assert (told.known_h, told.below_h, told.above_h) == pytest.approx((whole.known_h, whole.below_h, whole.above_h))


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="cross"):
        time_outside_of_pieces([Piece(0, 20.0, 5, 30.0, 20.0, 30.0)], None, 25.0, longest_gap_h=24)
    with pytest.raises(ValueError, match="order of time"):
        time_outside_of_pieces([Piece(5, 20.0, 0, 20.0, 20.0, 20.0)], None, 25.0, longest_gap_h=24)
    with pytest.raises(ValueError, match="order of time"):
        time_outside([(5, 20.0), (1, 20.0)], None, 25.0, longest_gap_h=24)
    with pytest.raises(ValueError, match="low"):
        time_outside([], 25.0, 15.0, longest_gap_h=24)
    with pytest.raises(ValueError, match="longest_gap_h"):
        time_outside([], None, 25.0, longest_gap_h=0)
