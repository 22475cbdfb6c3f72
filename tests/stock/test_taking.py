"""Using, testing, spoiling and returning: what leaves a lot, and what may not."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.refusal import Doubtful, NotAllowed, NotEnough, Refused, TokenTrouble
from shop.stock import actions
from shop.stock.models import Movement, MovementKind
from tests import makers
from tests.stock.makers import day, make_defect, make_item, make_liquid, make_lot, use
from tests.stock.makers import reverse as undo

pytestmark = pytest.mark.django_db


def test_what_is_used_leaves_the_lot_and_enters_the_ledger(assistant, engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    movement = use(assistant, lot, 3, note="for the  trial ")
    lot.refresh_from_db()
    assert lot.on_hand == 7
    assert (movement.kind, movement.change, movement.balance, movement.by) == ("used", -3, 7, assistant)
    assert movement.item == lot.item
    assert movement.note == "for the trial"


def test_a_visitor_takes_nothing(visitor, engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    with pytest.raises(NotAllowed):
        use(visitor, lot)
    assert Movement.objects.count() == 1


def test_the_same_press_twice_is_one_movement(engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    once = uuid4()
    first = actions.use_stock(by=engineer, once=once, lot=lot, quantity=2)
    again = actions.use_stock(by=engineer, once=once, lot=lot, quantity=2)
    assert again == first
    with pytest.raises(TokenTrouble):
        actions.use_stock(by=engineer, once=once, lot=lot, quantity=3)
    lot.refresh_from_db()
    assert lot.on_hand == 8


def test_more_than_there_is_is_refused_and_says_how_many_there_are(engineer):
    lot = make_lot(engineer, make_item(engineer), 2, code="K7")
    with pytest.raises(NotEnough, match="only 2 left in lot K7, not 3") as refused:
        use(engineer, lot, 3)
    assert refused.value.field == "quantity"
    lot.refresh_from_db()
    assert lot.on_hand == 2
    assert Movement.objects.count() == 1


def test_an_empty_lot_says_that_the_last_is_gone(engineer):
    lot = make_lot(engineer, make_item(engineer), 1)
    use(engineer, lot)
    with pytest.raises(NotEnough, match="none left"):
        use(engineer, lot)


@pytest.mark.parametrize("quantity", [0, -1, 1_000_001, 10**30, True, 1.5])
def test_quantities_that_can_not_be_meant(engineer, quantity):
    lot = make_lot(engineer, make_item(engineer), 2)
    with pytest.raises(Refused) as refused:
        use(engineer, lot, quantity)
    assert refused.value.field == "quantity"
    assert Movement.objects.count() == 1


def test_not_in_the_future_and_not_before_the_lot_came_in(engineer):
    lot = make_lot(engineer, make_item(engineer), 5, received_on=clock.today() - timedelta(days=2))
    with pytest.raises(Refused, match="in the future") as refused:
        use(engineer, lot, at=clock.now() + timedelta(minutes=1))
    assert refused.value.field == "at"
    with pytest.raises(Refused, match="only came in on"):
        use(engineer, lot, at=clock.now() - timedelta(days=3))
    earlier = clock.now() - timedelta(days=1)
    assert use(engineer, lot, at=earlier).at == earlier


def test_a_lot_on_hold_needs_an_engineer_with_a_reason(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 5, code="K8")
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="pinholes in three")
    with pytest.raises(Refused, match=r"K8 is on hold: pinholes in three\. Take another lot: only an eng") as refused:
        use(assistant, lot)
    assert refused.value.field == "lot"
    with pytest.raises(Refused, match="only an engineer may overrule that"):
        use(assistant, lot, overrule="I like it")
    with pytest.raises(Refused, match="or give a reason to overrule it") as refused:
        use(engineer, lot)
    assert refused.value.field == "overrule"
    movement = use(engineer, lot, overrule="looked at each under the lamp", note="tone test")
    assert movement.note == "Overruled: looked at each under the lamp. tone test"


def test_a_lot_is_released_only_with_what_was_found(engineer):
    lot = make_lot(engineer, make_item(engineer), 5)
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="dull")
    with pytest.raises(Refused) as refused:
        actions.release_lot(by=engineer, once=uuid4(), lot=lot, note="  ")
    assert refused.value.field == "note"
    lot.refresh_from_db()
    assert lot.is_held
    actions.release_lot(by=engineer, once=uuid4(), lot=lot, note="clean under the lamp")
    assert [remark.note for remark in lot.remarks.all()] == ["clean under the lamp", "dull"]


def test_usable_through_the_last_day_of_its_date_in_the_room_s_zone(engineer, at):
    item = make_item(engineer)
    with at("2025-01-07 10:00"):
        lot = make_lot(engineer, item, 5, best_before=day("2025-07-06"))
    # 23:30 in Lisbon in July is 22:30 UTC, and half past midnight in the room is still the day before in UTC.
    with at("2025-07-06 23:30"):
        assert use(engineer, lot).change == -1
    with at("2025-07-07 00:30"), pytest.raises(Refused, match="was usable through 6 July 2025"):
        use(engineer, lot)
    with at("2025-07-08 09:00"):
        # What happened in time may be entered later.
        assert use(engineer, lot, at=makers.moment("2025-07-06 18:00")).change == -1
        assert "Overruled: rehearsal only" in use(engineer, lot, overrule="rehearsal only").note


def test_another_lot_that_should_go_first_is_asked_about(engineer):
    item = make_item(engineer)
    later = make_lot(engineer, item, 5, code="LATER", best_before=clock.today() + timedelta(days=200))
    make_lot(engineer, item, 5, code="SOONER", best_before=clock.today() + timedelta(days=100))
    with pytest.raises(Doubtful, match="SOONER should go first") as asked:
        use(engineer, later)
    keys = [doubt.key for doubt in asked.value.doubts]
    assert use(engineer, later, sure=keys).lot == later


def test_what_can_not_be_used_is_refused_before_its_turn_is_asked_about(engineer, assistant):
    item = make_item(engineer)
    held = make_lot(engineer, item, 2, code="HELD")
    make_lot(engineer, item, 5, code="SOONER", best_before=clock.today() + timedelta(days=100))
    for quantity, words in ((0, "above zero"), (3, "There are only 2 left")):
        with pytest.raises(Refused, match=words) as refused:
            use(engineer, held, quantity)
        assert refused.value.field == "quantity"
    actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="dull")
    with pytest.raises(Refused, match="HELD is on hold"):
        use(assistant, held)
    assert use(engineer, held, overrule="looked at both").lot == held


@pytest.mark.parametrize("act", ["use_stock", "test_stock", "spoil_stock", "return_stock"])
def test_taking_the_very_same_again_is_asked_about(engineer, assistant, at, act):
    lot = make_lot(engineer, make_item(engineer), 20, code="K4", received_on=day("2025-03-01"))
    wrong = {"defect": make_defect(engineer)} if act == "spoil_stock" else {}

    def take(by=assistant, **other):
        return getattr(actions, act)(by=by, once=uuid4(), **{"lot": lot, "quantity": 2} | wrong | other)

    with at("2025-03-03 10:00"):
        first = take()
        for another in ({"quantity": 1}, {"note": "for the trial"}, {"at": makers.moment("2025-03-03 09:30")}):
            take(**another)
        take(engineer)
    with at("2025-03-03 10:09"):
        with pytest.raises(Doubtful, match=r"You took 2 out of lot K4 at 10:00 already\. Is this another\?") as asked:
            take()
        assert [doubt.field for doubt in asked.value.doubts] == ["quantity"]
        lot.refresh_from_db()
        assert lot.on_hand == 11, "nothing is taken while it is asked"
        again = take(sure=[doubt.key for doubt in asked.value.doubts])
        undo(assistant, again)
        undo(assistant, first)
        take()
    with at("2025-03-03 10:20"):
        take()


def test_how_little_is_left_is_said_as_one_or_as_many(engineer):
    lot, solvent = make_lot(engineer, make_item(engineer), 2), make_lot(engineer, make_liquid(engineer), 40)
    for of, words in ((lot, "There are only 2 left in lot"), (solvent, "There is only 40\u00a0ml left in lot")):
        with pytest.raises(NotEnough, match=words):
            use(engineer, of, 50)
    use(engineer, lot)
    with pytest.raises(NotEnough, match="There is only 1 left in lot"):
        use(engineer, lot, 2)
    use(engineer, solvent, 40)
    with pytest.raises(NotEnough, match="There is none left in lot"):
        use(engineer, solvent)


def test_the_last_of_the_lot_whose_turn_it_is_is_not_asked_about(engineer):
    item = make_item(engineer)
    make_lot(engineer, item, 5, code="LATER", best_before=clock.today() + timedelta(days=200))
    sooner = make_lot(engineer, item, 1, code="SOONER", best_before=clock.today() + timedelta(days=100))
    assert use(engineer, sooner).balance == 0


def test_a_test_takes_by_the_rules_of_use(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 5)
    movement = actions.test_stock(by=assistant, once=uuid4(), lot=lot, quantity=1)
    assert movement.kind == MovementKind.TESTED
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="dull")
    with pytest.raises(Refused, match="on hold"):
        actions.test_stock(by=assistant, once=uuid4(), lot=lot, quantity=1)


def test_what_is_spoiled_names_its_defect_and_may_come_from_a_held_lot(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 5)
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="dull")
    defect = make_defect(engineer, "Scratch")
    movement = actions.spoil_stock(by=assistant, once=uuid4(), lot=lot, quantity=2, defect=defect)
    assert (movement.kind, movement.change, movement.defect) == ("spoiled", -2, defect)


def test_what_is_returned_leaves_too(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 5)
    movement = actions.return_stock(by=assistant, once=uuid4(), lot=lot, quantity=5)
    assert (movement.kind, movement.change, movement.balance) == ("returned", -5, 0)
