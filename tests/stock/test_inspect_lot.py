"""Looking a delivery over: what is found, what is written off, and what comes of the lot."""

import pytest
from django.db import DatabaseError, transaction

from shop.refusal import NotAllowed, Refused
from shop.stock import actions, queries
from shop.stock.models import Inspection, InspectionDefect, Movement
from tests.stock.makers import inspect, make_defect, make_item, make_liquid, make_lot, once, reverse

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(engineer):
    return make_lot(engineer, make_item(engineer), 50, code="B-7")


@pytest.fixture
def pinholes(engineer):
    return make_defect(engineer, "Pinholes")


@pytest.fixture
def warped(engineer):
    return make_defect(engineer, "Warped")


def taken(lot):
    lot.refresh_from_db()
    return [
        (m.kind, m.change, m.defect and m.defect.name) for m in lot.movements.exclude(kind="received").order_by("id")
    ]


def test_a_clean_look_leaves_the_lot_as_it_is(assistant, lot):
    found = inspect(assistant, lot, 10, "accept", note="under the lamp")
    assert (found.looked_at, found.outcome, found.by, found.note) == (10, "accept", assistant, "under the lamp")
    assert found.faulty == 0
    assert taken(lot) == []
    assert (lot.on_hand, lot.is_held) == (50, False)


def test_the_faulty_are_written_off_each_with_its_defect(assistant, lot, pinholes, warped):
    found = inspect(assistant, lot, 10, "accept", (pinholes, 2), (warped, 1))
    assert found.faulty == 3
    assert taken(lot) == [("spoiled", -2, "Pinholes"), ("spoiled", -1, "Warped")]
    assert lot.on_hand == 47
    assert [(f.defect, f.movement.change) for f in found.found.all()] == [(pinholes, -2), (warped, -1)]
    assert queries.ledger_faults() == []


def test_or_left_in_it_where_that_is_wanted(assistant, lot, pinholes):
    found = inspect(assistant, lot, 10, "accept", (pinholes, 2), write_off=False)
    assert taken(lot) == []
    assert found.found.get().movement is None


def test_what_was_written_off_can_be_undone_and_the_finding_stays(assistant, lot, pinholes):
    found = inspect(assistant, lot, 10, "accept", (pinholes, 2))
    reverse(assistant, found.found.get().movement)
    lot.refresh_from_db()
    assert (lot.on_hand, found.faulty) == (50, 2)


def test_held_with_what_was_found_as_the_reason(assistant, lot, pinholes, warped):
    inspect(assistant, lot, 10, "hold", (pinholes, 2), (warped, 1))
    lot.refresh_from_db()
    assert (lot.is_held, lot.held_by) == (True, assistant)
    assert lot.held_why == "3 of 10 looked at faulty: pinholes 2, warped 1"
    assert lot.remarks.get().kind == "held"
    assert lot.on_hand == 50  # what is on hold stays whole, unless it is said


def test_held_again_keeps_the_hold_that_is(engineer, lot, pinholes):
    actions.hold_lot(by=engineer, once=once(), lot=lot, why="the store got warm")
    inspect(engineer, lot, 10, "hold", (pinholes, 1))
    lot.refresh_from_db()
    assert lot.held_why == "the store got warm"
    assert lot.remarks.count() == 1


def test_accepting_a_held_lot_releases_it_and_takes_an_engineer(engineer, assistant, lot):
    actions.hold_lot(by=engineer, once=once(), lot=lot, why="the store got warm")
    with pytest.raises(Refused, match="only an engineer may let it be used again") as refused:
        inspect(assistant, lot, 10, "accept")
    assert refused.value.field == "outcome"
    inspect(engineer, lot, 10, "accept", note="all bright")
    lot.refresh_from_db()
    assert not lot.is_held
    assert next((r.kind, r.note) for r in lot.remarks.all()) == ("released", "all bright")


def test_sent_back_as_a_whole_and_nothing_written_off(assistant, lot, pinholes):
    found = inspect(assistant, lot, 10, "return", (pinholes, 4))
    assert taken(lot) == [("returned", -50, None)]
    assert lot.on_hand == 0
    assert lot.movements.get(kind="returned").note == "4 of 10 looked at faulty: pinholes 4"
    assert found.found.get().movement is None


@pytest.mark.parametrize(
    ("looked_at", "outcome", "counts", "note", "field", "sentence"),
    [
        (0, "accept", (), "", "looked_at", "above zero"),
        (-1, "accept", (), "", "looked_at", "above zero"),
        (51, "accept", (), "", "looked_at", "Only 50 is on hand in lot B-7"),
        (10, "", (), "", "outcome", "Choose what comes of it"),
        (10, "burn", (), "", "outcome", "Choose what comes of it"),
        (10, "accept", (6, 5), "", "found", "11 faulty of 10 looked at"),
        (10, "accept", (-1,), "", "found", "0 or more"),
        (10, "hold", (), "", "note", "say why it is not accepted"),
        (10, "return", (0,), " ", "note", "say why it is not accepted"),
        (10, "accept", (), "x" * 301, "note", "300 characters"),
    ],
)
def test_what_can_not_be(assistant, lot, pinholes, warped, looked_at, outcome, counts, note, field, sentence):
    found = list(zip((pinholes, warped), counts, strict=False))
    with pytest.raises(Refused, match=sentence) as refused:
        inspect(assistant, lot, looked_at, outcome, *found, note=note)
    if field == "found":
        assert refused.value.field == f"found.{found[-1][0].pk}"
    else:
        assert refused.value.field == field
    assert not Inspection.objects.exists()
    assert taken(lot) == []


def test_a_defect_twice(assistant, lot, pinholes):
    with pytest.raises(Refused, match="Pinholes is there twice"):
        inspect(assistant, lot, 10, "accept", (pinholes, 1), (pinholes, 2))


def test_one_press_is_one_inspection(assistant, lot, pinholes):
    typed = {"lot": lot, "looked_at": 10, "outcome": "accept", "found": [actions.Found(pinholes, 1)], "once": once()}
    first = actions.inspect_lot(by=assistant, **typed)
    assert actions.inspect_lot(by=assistant, **typed) == first
    assert (Inspection.objects.count(), InspectionDefect.objects.count()) == (1, 1)
    lot.refresh_from_db()
    assert lot.on_hand == 49


def test_not_by_a_visitor(visitor, lot):
    with pytest.raises(NotAllowed):
        inspect(visitor, lot, 1, "accept")


def test_an_inspection_is_never_changed(assistant, lot, pinholes):
    inspect(assistant, lot, 10, "accept", (pinholes, 1))
    for change in (
        lambda: Inspection.objects.update(outcome="hold"),
        lambda: InspectionDefect.objects.update(quantity=0),
        lambda: InspectionDefect.objects.all().delete(),
    ):
        with pytest.raises(DatabaseError, match="never changed or removed"), transaction.atomic():
            change()


@pytest.mark.parametrize(
    ("looked_at", "found", "write_off", "rest", "most_left"),
    [
        (10, 0, True, 40, 11),
        (10, 2, True, 40, 21),
        (10, 2, False, 40, 21),
        (50, 3, True, None, None),
        (1, 1, True, None, None),
    ],
)
def test_what_a_look_says_of_the_rest(assistant, lot, pinholes, looked_at, found, write_off, rest, most_left):
    """The numbers by counting draws with math.comb: with one more bad among the others, so few would have been found in
    fewer than one of twenty draws of 10 out of 50."""
    faults = [(pinholes, found)] if found else []
    look = inspect(assistant, lot, looked_at, "accept", *faults, write_off=write_off)
    [kept] = queries.inspections(lot)
    assert kept == look
    sample = queries.sample_of(kept)
    assert (sample and (sample.rest, sample.most_left)) == (rest and (rest, most_left))


def test_what_went_back_or_is_measured_says_nothing_of_the_rest(assistant, engineer, lot, pinholes):
    inspect(assistant, lot, 10, "return", (pinholes, 1))
    bottle = make_lot(engineer, make_liquid(engineer), 2500)
    inspect(assistant, bottle, 500, "accept")
    for one in (lot, bottle):
        assert queries.sample_of(queries.inspections(one)[0]) is None


def test_a_liquid_is_looked_over_in_its_unit(assistant, engineer):
    lot = make_lot(engineer, make_liquid(engineer), 2500)
    inspect(assistant, lot, 500, "hold", (make_defect(engineer, "Cloudy"), 500), write_off=True)
    lot.refresh_from_db()
    assert lot.held_why == "500\u00a0ml of 500\u00a0ml looked at faulty: cloudy 500\u00a0ml"
    assert Movement.objects.get(kind="spoiled").change == -500
