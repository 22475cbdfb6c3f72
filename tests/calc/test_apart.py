"""What stands together that should not: who is held against whom, and where."""

import pytest

from shop.calc.apart import (
    CLOSED,
    COMBUSTIBLE,
    CYLINDER,
    EMPTY_CYLINDER,
    FLAMMABLE_LIQUID,
    FULL_CYLINDER,
    GROUPS,
    HEAT,
    KEPT_AS,
    OXIDISER,
    RULES,
    SPARK,
    TRAITS,
    Spot,
    Standing,
    Thing,
    findings,
    groups_of,
)

ROOM, CUPBOARD, SHELF, OTHER = Spot(1), Spot(2, within=1), Spot(3, within=2), Spot(4, within=1)


def found(spots, *things):
    return [
        (one.rule.key, one.thing.id, one.other.id if one.other else None, one.at) for one in findings(spots, things)
    ]


def thing(number, place, *groups):
    return Thing(number, place, frozenset(groups))


@pytest.mark.parametrize(("rule"), [rule for rule in RULES if rule.other not in TRAITS], ids=lambda rule: rule.key)
def test_each_rule_between_things_finds_its_pair_whichever_comes_first_and_no_other(rule):
    one, other = thing(7, 1, rule.one), thing(8, 1, rule.other)
    assert found([ROOM], one, other) == [(rule.key, 7, 8, 1)]
    assert found([ROOM], other, one) == [(rule.key, 7, 8, 1)]
    assert found([ROOM], one) == found([ROOM], other) == []


@pytest.mark.parametrize(("rule"), [rule for rule in RULES if rule.other in TRAITS], ids=lambda rule: rule.key)
def test_each_rule_about_a_place_finds_it_there_and_nowhere_else(rule):
    place = Spot(1, traits=frozenset({rule.other}))
    assert found([place], thing(7, 1, rule.one)) == [(rule.key, 7, None, 1)]
    others = Spot(1, traits=frozenset(TRAITS) - {rule.other})
    assert rule.key not in [key for key, *_ in found([others], thing(7, 1, rule.one))]


def test_places_within_each_other_are_one_and_two_cupboards_of_a_room_are_not():
    spots = [ROOM, CUPBOARD, SHELF, OTHER]
    blank, acid = thing(7, 3, "nitrocellulose"), "acid"
    assert found(spots, blank, thing(8, 1, acid)) == [("nitrocellulose-acid", 7, 8, 3)], "the room around it"
    assert found(spots, blank, thing(8, 2, acid)) == [("nitrocellulose-acid", 7, 8, 3)]
    assert found(spots, thing(8, 1, acid), thing(7, 2, "nitrocellulose")) == [("nitrocellulose-acid", 7, 8, 2)]
    assert found(spots, blank, thing(8, 4, acid)) == []


def test_what_gets_hot_counts_around_a_thing_and_within_its_place_and_once():
    hot = frozenset({HEAT})
    spots = [Spot(1, traits=hot), Spot(2, within=1, traits=hot), Spot(3, within=2)]
    assert found(spots, thing(7, 3, "nitrocellulose")) == [("nitrocellulose-heat", 7, None, 2)], "the nearest"
    inner = [Spot(1), Spot(2, within=1, traits=hot)]
    assert found(inner, thing(7, 1, "nitrocellulose")) == [("nitrocellulose-heat", 7, None, 2)]
    beside = [Spot(1), Spot(2, within=1, traits=hot), Spot(3, within=1)]
    assert found(beside, thing(7, 3, "nitrocellulose")) == []


def test_a_closed_cupboard_in_the_room_does_a_cylinder_nothing_but_one_around_it_does():
    closed = Spot(2, within=1, traits=frozenset({CLOSED}))
    assert found([ROOM, closed], thing(7, 1, CYLINDER)) == []
    assert found([ROOM, closed, SHELF], thing(7, 3, CYLINDER)) == [("cylinder-closed", 7, None, 2)]


def test_full_and_empty_cylinders_are_held_against_each_other_only():
    full, empty = thing(7, 1, CYLINDER, FULL_CYLINDER), thing(8, 1, CYLINDER, EMPTY_CYLINDER)
    assert found([ROOM], full, empty) == [("cylinder-full-empty", 7, 8, 1)]
    assert found([ROOM], full, thing(9, 1, CYLINDER, FULL_CYLINDER)) == []
    assert found([ROOM], empty, thing(9, 1, CYLINDER, EMPTY_CYLINDER)) == []


def test_two_rules_broken_by_one_pair_are_two_findings_in_the_order_of_the_rules():
    both = found([ROOM], thing(7, 1, "nitrocellulose"), thing(8, 1, "acid", OXIDISER))
    assert [key for key, *_ in both] == ["nitrocellulose-acid", "nitrocellulose-oxidiser"]


def test_a_finding_keeps_its_key_while_the_same_things_stand_there():
    spots = [ROOM, CUPBOARD]
    one = findings(spots, [thing(7, 1, "nitrocellulose"), thing(8, 2, "acid")])[0]
    again = findings(spots, [thing(8, 2, "acid"), thing(9, 2), thing(7, 1, "nitrocellulose")])[0]
    moved = findings(spots, [thing(7, 2, "nitrocellulose"), thing(8, 2, "acid")])[0]
    assert one.key == again.key == "nitrocellulose-acid-1.7-2.8"
    assert moved.key != one.key


def test_groups_follow_from_h_statements_and_from_being_a_gas():
    assert groups_of([], ["H225", "H319", "H336"]) == {FLAMMABLE_LIQUID}
    assert groups_of(["acid"], ["H272", "H314"]) == {"acid", OXIDISER}
    assert groups_of([], ["H280"]) == groups_of([], [], is_gas=True) == {CYLINDER}
    assert groups_of([], ["H228"]) == {COMBUSTIBLE}
    assert groups_of([], ["H227"]) == frozenset(), "category 4 is not kept apart by these rules"
    assert groups_of([], []) == frozenset()


def test_what_is_not_there_is_refused():
    with pytest.raises(ValueError, match="named must be of acid, base"):
        groups_of(["sour"], [])
    with pytest.raises(ValueError, match="things must be in one of the spots, not in 9"):
        findings([ROOM], [thing(7, 9, "acid")])
    with pytest.raises(ValueError, match="place must be one of the spots, not 9"):
        findings([Spot(1, within=9)], [])
    with pytest.raises(ValueError, match="must not lie within itself"):
        findings([Spot(1, within=2), Spot(2, within=1)], [])


def test_every_rule_says_why_and_where_it_is_from_or_that_it_is_from_nowhere():
    assert len({rule.key for rule in RULES}) == len(RULES)
    for rule in RULES:
        assert rule.reason.endswith(".")
        assert rule.one in GROUPS | KEPT_AS, rule.key
        assert rule.other in GROUPS | KEPT_AS | TRAITS, rule.key
        assert bool(rule.source) == rule.is_founded, rule.key
        assert rule.is_founded == (rule.standing in (Standing.READ, Standing.SECOND_HAND))
    assert {HEAT, SPARK} <= {rule.other for rule in RULES if rule.one == "nitrocellulose"}
