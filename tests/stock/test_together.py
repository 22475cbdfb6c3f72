"""People pressing at the same moment: real threads, real transactions. Runs as it stands on PostgreSQL too."""

from functools import partial

import pytest

from shop.refusal import NotEnough, Refused
from shop.stock import actions, queries
from shop.stock.models import Lot, Movement
from tests import makers
from tests.stock.makers import count_it, make_given, make_item, make_lot, make_sent, once, receive_line, reverse, use

pytestmark = pytest.mark.django_db(transaction=True)


def test_two_people_take_the_last_blank(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 1, code="LAST")
    results = makers.together(partial(use, engineer, lot), partial(use, assistant, lot))
    got = [r for r in results if isinstance(r, Movement)]
    refused = [r for r in results if isinstance(r, NotEnough)]
    assert (len(got), len(refused)) == (1, 1), results
    assert "There are none left in lot LAST: somebody may have taken the last just now" in refused[0].sentence
    lot.refresh_from_db()
    assert lot.on_hand == 0
    assert queries.ledger_faults() == []


def test_eight_people_take_more_than_there_is(engineer):
    lot = make_lot(engineer, make_item(engineer), 200)

    def take_thirty():
        outcomes = []
        for _ in range(30):
            try:
                outcomes.append(use(engineer, lot, note=str(once())))
            except NotEnough as none_left:
                outcomes.append(none_left)
        return outcomes

    outcomes = [one for each in makers.together(*[take_thirty] * 8) for one in each]
    assert sum(isinstance(one, Movement) for one in outcomes) == 200
    assert sum(isinstance(one, NotEnough) for one in outcomes) == 40
    balances = sorted(one.balance for one in outcomes if isinstance(one, Movement))
    assert balances == list(range(200))
    lot.refresh_from_db()
    assert lot.on_hand == 0
    assert queries.ledger_faults() == []


def test_the_same_press_from_two_places_is_one_movement(engineer):
    lot = make_lot(engineer, make_item(engineer), 10)
    token = once()
    press = partial(actions.use_stock, by=engineer, once=token, lot=lot, quantity=1)
    first, *others = makers.together(*[press] * 6)
    assert isinstance(first, Movement), first
    assert all(other == first for other in others)
    lot.refresh_from_db()
    assert lot.on_hand == 9


def test_a_movement_undone_by_two_at_once_is_undone_once(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 10)
    wrong = use(engineer, lot, 4)
    results = makers.together(partial(reverse, engineer, wrong), partial(reverse, assistant, wrong))
    assert sorted(type(r) is Movement for r in results) == [False, True], results
    assert [r.sentence for r in results if isinstance(r, Refused)] == ["That movement was undone already."]
    lot.refresh_from_db()
    assert lot.on_hand == 10
    assert queries.ledger_faults() == []


def test_the_same_lot_received_by_two_at_once_is_received_once(engineer, assistant):
    item = make_item(engineer)
    results = makers.together(
        partial(make_lot, engineer, item, 5, code="TWICE"), partial(make_lot, assistant, item, 5, code="TWICE")
    )
    assert sorted(type(r) is Lot for r in results) == [False, True], results
    assert [r.field for r in results if isinstance(r, Refused)] == ["code"]
    assert Lot.objects.get().on_hand == 5


def test_a_count_amid_takings_still_adds_up(engineer, assistant):
    lot = make_lot(engineer, make_item(engineer), 50)
    takes = [partial(use, engineer, lot, note=f"take {number}") for number in range(5)]
    counts = [partial(count_it, assistant, lot, 40, reason="as found")] * 2
    results = makers.together(*takes, *counts)
    assert all(isinstance(r, Movement) for r in results), results
    assert queries.ledger_faults() == []


def test_an_item_of_one_name_added_by_two_at_once(engineer, owner):
    results = makers.together(partial(make_item, engineer, "Twin"), partial(make_item, owner, "Twin"))
    assert [r.field for r in results if isinstance(r, Refused)] == ["name"], results


def test_two_people_receive_the_same_line_at_once(engineer, assistant):
    """The whole of it in two boxes' names: one is taken in, the other told that all has come."""
    line = make_sent(engineer, (make_item(engineer), 50)).lines.get()
    results = makers.together(
        partial(receive_line, engineer, line, 50, code="ONE"), partial(receive_line, assistant, line, 50, code="TWO")
    )
    assert sorted(type(r) is Lot for r in results) == [False, True], results
    [refused] = [r for r in results if isinstance(r, Refused)]
    assert "had come by" in refused.sentence
    line.refresh_from_db()
    assert (line.arrived, line.order.state) == (50, "received")
    assert Lot.objects.get().on_hand == 50


def test_the_same_box_received_by_two_at_once_is_counted_once(engineer, assistant):
    line = make_sent(engineer, (make_item(engineer), 50)).lines.get()
    results = makers.together(*[partial(receive_line, who, line, 20, code="BOX") for who in (engineer, assistant)])
    assert sorted(type(r) is Lot for r in results) == [False, True], results
    assert [r.field for r in results if isinstance(r, Refused)] == ["code"]
    line.refresh_from_db()
    assert (line.arrived, line.order.state) == (20, "part")


def test_parts_received_and_undone_at_once_add_up(engineer, assistant):
    line = make_sent(engineer, (make_item(engineer), 100)).lines.get()
    first = receive_line(engineer, line, 10)
    results = makers.together(
        partial(reverse, engineer, first.movements.get()),
        *[partial(receive_line, who, line, 7) for who in (engineer, assistant, engineer)],
    )
    assert not [r for r in results if isinstance(r, Exception)], results
    line.refresh_from_db()
    assert (line.arrived, line.order.state) == (21, "part")
    assert sum(Lot.objects.values_list("on_hand", flat=True)) == 21
    assert queries.ledger_faults() == []


def test_an_order_closed_while_some_of_it_is_received(engineer, owner):
    """Either it was closed first, and the delivery is refused, or the delivery is counted and the rest given up."""
    order = make_sent(engineer, (make_item(engineer), 50))
    close = partial(actions.close_order_short, by=owner, once=once(), order=order, why="enough")
    closed, lot = makers.together(close, partial(receive_line, engineer, order.lines.get(), 20))
    assert closed == order
    order.refresh_from_db()
    assert order.state == "closed"
    came = 20 if isinstance(lot, Lot) else 0
    assert order.lines.get().arrived == came
    assert Lot.objects.count() == bool(came)


def test_two_agree_to_one_count_at_once(engineer, owner):
    """One does; the other is told; each lot is put right once."""
    lot = make_lot(engineer, make_item(engineer), 10, code="A")
    count = make_given(engineer, A=8)
    line = count.lines.get()
    actions.explain_count(by=engineer, once=once(), count=count, reasons=[actions.Explained(line, "not known")])
    told = makers.together(
        *[
            partial(actions.agree_count, by=who, once=once(), count=count, sure=["own-count"])
            for who in (engineer, owner)
        ]
    )
    assert sorted(type(one).__name__ for one in told) == ["Count", "Refused"]
    lot.refresh_from_db()
    assert lot.on_hand == 8
    assert lot.movements.filter(kind="counted").count() == 1
    assert queries.ledger_faults() == []


def test_agreed_while_another_takes_of_it(engineer, owner):
    lot = make_lot(engineer, make_item(engineer), 10, code="A")
    count = make_given(engineer, A=8)
    line = count.lines.get()
    actions.explain_count(by=engineer, once=once(), count=count, reasons=[actions.Explained(line, "not known")])
    told = makers.together(
        partial(actions.agree_count, by=engineer, once=once(), count=count, sure=["own-count"]),
        partial(use, owner, lot, 3),
    )
    assert [one for one in told if isinstance(one, Exception)] == []
    lot.refresh_from_db()
    assert lot.on_hand == 5
    assert queries.ledger_faults() == []
