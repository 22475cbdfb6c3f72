"""What comes before what, held against the standard library's own order of graphs."""

from graphlib import CycleError, TopologicalSorter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc import order

THINGS = st.integers(0, 9)
ANY = st.dictionaries(THINGS, st.lists(THINGS, max_size=4, unique=True), max_size=10)


@st.composite
def without_loop(draw):
    """Needs that go back only to what was named before, in a shuffled order of naming."""
    count = draw(st.integers(0, 9))
    needs = {n: draw(st.lists(st.integers(0, n - 1), unique=True, max_size=4)) if n else [] for n in range(count)}
    return {n: needs[n] for n in draw(st.permutations(range(count)))}


def goes_round(needs):
    try:
        TopologicalSorter(needs).prepare()
    except CycleError:
        return True
    return False


@given(ANY)
def test_a_loop_is_found_where_there_is_one_and_only_there(needs):
    assert bool(order.find_loop(needs)) == goes_round(needs)


@given(ANY)
def test_the_loop_told_is_one(needs):
    loop = order.find_loop(needs)
    assert len(set(loop)) == len(loop)
    for thing, before in zip(loop, [*loop[1:], *loop[:1]], strict=True):
        assert before in needs[thing]


@given(ANY)
def test_in_order_each_comes_after_what_it_needs_or_it_refuses(needs):
    if goes_round(needs):
        with pytest.raises(ValueError, match="loop"):
            order.in_order(needs)
        return
    said = order.in_order(needs)
    assert sorted(said) == sorted({*needs, *(before for those in needs.values() for before in those)})
    for thing, those in needs.items():
        assert all(said.index(before) < said.index(thing) for before in those)


def test_what_may_come_in_any_order_stays_as_it_was_given():
    assert order.in_order({"c": [], "a": ["b"], "d": [], "b": []}) == ["c", "d", "b", "a"]


@given(without_loop(), st.data())
def test_what_a_thing_rests_on_is_all_that_leads_to_it(needs, data):
    ends = data.draw(st.lists(st.sampled_from(sorted(needs)), unique=True)) if needs else []
    before = order.rests_on(ends, needs)
    step = {thing for end in ends for thing in needs[end]}
    assert step <= before
    assert all(set(needs[thing]) <= before for thing in before)
    assert all(any(thing in needs[after] for after in {*before, *ends}) for thing in before)


@given(without_loop(), st.data())
def test_the_way_leaves_nothing_out_and_takes_nothing_else(needs, data):
    ends = data.draw(st.lists(st.sampled_from(sorted(needs)), unique=True)) if needs else []
    way = order.way_to(ends, needs)
    assert set(way) == {*ends, *order.rests_on(ends, needs)}
    for place, thing in enumerate(way):
        assert set(needs[thing]) <= set(way[:place])


@given(without_loop())
def test_a_level_is_one_above_the_highest_it_needs(needs):
    level = order.levels(needs)
    for thing, those in needs.items():
        assert level[thing] == (1 + max(level[before] for before in those) if those else 0)


def test_a_long_chain_is_no_deeper_than_it_is_long():
    chain = {n: [n - 1] if n else [] for n in range(5_000)}
    assert order.find_loop(chain) == []
    assert order.find_loop(chain | {0: [4_999]}) == [0, *range(4_999, 0, -1)]


def test_a_thing_that_needs_itself_is_a_loop_of_one():
    assert order.find_loop({"a": ["b"], "b": ["b"]}) == ["b"]


@given(without_loop(), st.data())
def test_leaving_some_out_keeps_what_the_others_rest_on(needs, data):
    out = set(data.draw(st.lists(st.sampled_from(sorted(needs)), unique=True))) if needs else set()
    left = order.without(out, needs)
    assert set(left) == set(needs) - out
    for thing in left:
        assert order.rests_on([thing], left) == order.rests_on([thing], needs) - out


def test_leaving_some_out_ends_on_a_loop_of_them():
    assert order.without({"b", "c"}, {"a": ["b"], "b": ["c"], "c": ["b", "d"], "d": []}) == {"a": ["d"], "d": []}


@given(without_loop())
def test_drawing_straight_needs_only_loses_nothing_and_none_could_be_spared(needs):
    left = order.straight(needs)
    assert set(left) == set(needs)
    for thing in needs:
        assert order.rests_on([thing], left) == order.rests_on([thing], needs)
        for before in left[thing]:
            spared = left | {thing: [one for one in left[thing] if one != before]}
            assert before not in order.rests_on([thing], spared)


def test_a_loop_can_not_be_drawn():
    with pytest.raises(ValueError, match="loop"):
        order.straight({"a": ["b"], "b": ["a"]})
