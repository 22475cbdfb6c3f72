"""What comes on an order: counted towards its line, and taken off it again when the delivery is undone."""

from decimal import Decimal

import pytest

from shop.refusal import Doubtful, Refused
from shop.stock import actions, queries
from shop.stock.models import Lot, Movement
from tests.stock.makers import (
    day,
    make_item,
    make_lot,
    make_order,
    make_sent,
    make_supplier,
    once,
    receive_line,
    reverse,
    use,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("march")]


@pytest.fixture
def item(engineer):
    return make_item(engineer, shelf_days=100)


@pytest.fixture
def order(engineer, item):
    return make_sent(engineer, (item, 50, Decimal("31.5")), (make_item(engineer, "Foil", kind="part"), 4))


@pytest.fixture
def line(order, item):
    return order.lines.get(item=item)


def stands(order):
    order.refresh_from_db()
    return order.state, order.received_on, [line.arrived for line in order.lines.all()]


def received(lot):
    return lot.movements.get(kind="received")


def test_a_lot_like_any_other_that_names_its_line(assistant, order, line, item, at):
    with at("2025-04-02 10:00"):
        lot = receive_line(
            assistant, line, 20, code=" B-7 ", made_on=day("2025-03-20"), unit_cost=Decimal("32"), note="one box dented"
        )
    lot.refresh_from_db()
    assert (lot.order_line, lot.item, lot.supplier, lot.code) == (line, item, order.supplier, "B-7")
    assert (lot.on_hand, lot.last_day, lot.unit_cost) == (20, day("2025-06-28"), Decimal("32"))
    movement = received(lot)
    assert (movement.kind, movement.change, movement.note) == ("received", 20, "one box dented")
    line.refresh_from_db()
    assert (line.arrived, line.first_on, line.last_on) == (20, day("2025-04-02"), day("2025-04-02"))
    assert stands(order) == ("part", None, [20, 0])
    step = order.steps.last()
    assert (step.kind, step.by, step.note) == ("arrived", assistant, "20 of 14-inch blank, lot B-7")


def test_received_once_all_of_it_has_come(assistant, order, line, at):
    foil = order.lines.exclude(pk=line.pk).get()
    with at("2025-04-02 10:00"):
        receive_line(assistant, line, 20)
    with at("2025-04-05 10:00"):
        receive_line(assistant, foil, 4)
        assert stands(order) == ("part", None, [20, 4])
    with at("2025-04-09 10:00"):
        receive_line(assistant, line, 30, received_on=day("2025-04-08"))
        assert stands(order) == ("received", day("2025-04-08"), [50, 4])
        line.refresh_from_db()
        assert (line.first_on, line.last_on) == (day("2025-04-02"), day("2025-04-08"))
        with pytest.raises(Refused, match=r"All of order \d+ had come by 8 April 2025\. If more came, receive it as"):
            receive_line(assistant, line, 1)
    assert Lot.objects.count() == 3


def test_more_than_was_ordered_is_asked_about(assistant, order, line):
    receive_line(assistant, line, 20)
    with pytest.raises(Doubtful, match=r"50 was ordered and 20 has come: that makes more") as asked:
        receive_line(assistant, line, 31)
    assert [doubt.field for doubt in asked.value.doubts] == ["quantity"]
    assert stands(order)[2] == [20, 0]
    receive_line(assistant, line, 31, sure=[doubt.key for doubt in asked.value.doubts])
    assert stands(order) == ("part", None, [51, 0])
    line.refresh_from_db()
    assert line.open_quantity == 0


def test_not_on_a_draft_nor_a_dropped_order(engineer, assistant, item):
    order = make_order(engineer, (item, 5))
    with pytest.raises(Refused, match=r"is a draft: enter that it was sent first"):
        receive_line(assistant, order.lines.get(), 5)
    actions.drop_order(by=engineer, once=once(), order=order)
    with pytest.raises(Refused, match=r"is dropped: nothing more is expected on it"):
        receive_line(assistant, order.lines.get(), 5)
    assert not Lot.objects.exists()


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"quantity": 0}, "quantity", "above zero"),
        ({"quantity": -4}, "quantity", "above zero"),
        ({"code": " "}, "code", "Write something"),
        ({"code": "b-6"}, "code", "Lot B-6 of Blankworks of Nowhere was already received"),
        ({"received_on": "2025-03-02"}, "received_on", "only sent on 3 March 2025"),
        ({"received_on": "2025-04-03"}, "received_on", "in the future"),
        ({"made_on": "2025-03-31", "best_before": "2025-03-30"}, "best_before", "before it was made"),
        ({"unit_cost": Decimal("-1")}, "unit_cost", "not below zero"),
    ],
)
def test_what_can_not_be_received_is_refused_and_nothing_is_half_done(
    engineer, order, line, item, facts, field, sentence, at
):
    make_lot(engineer, item, 3, code="B-6", supplier=order.supplier)
    facts = {n: day(v) if n.endswith("_on") or n == "best_before" else v for n, v in facts.items()}
    typed = {"quantity": 5, "code": "B-7"} | facts
    with at("2025-04-02 10:00"), pytest.raises(Refused, match=sentence) as refused:
        receive_line(engineer, line, **typed)
    assert refused.value.field == field
    assert stands(order) == ("sent", None, [0, 0])
    assert Lot.objects.count() == Movement.objects.count() == 1
    assert order.steps.count() == 2


def test_the_same_press_twice_is_one_lot(assistant, order, line):
    typed = {"once": once(), "line": line, "code": "B-7", "quantity": 5}
    first = actions.receive_on_order(by=assistant, **typed)
    assert actions.receive_on_order(by=assistant, **typed) == first
    assert stands(order)[2] == [5, 0]


def test_the_same_delivery_entered_by_two_people_is_one_lot(assistant, engineer, order, line):
    receive_line(assistant, line, 20, code="B-7")
    with pytest.raises(Refused, match=r"Lot B-7 of Blankworks of Nowhere was already received") as refused:
        receive_line(engineer, line, 20, code="b-7")
    assert refused.value.field == "code"
    assert stands(order)[2] == [20, 0]
    assert Lot.objects.count() == Movement.objects.count() == 1


# Undoing --------------------------------------------------------------------------------------------------------------


def test_a_delivery_undone_is_taken_off_its_line_and_the_order_goes_back(assistant, order, line, at):
    foil = order.lines.exclude(pk=line.pk).get()
    with at("2025-04-02 10:00"):
        first = receive_line(assistant, line, 20)
    with at("2025-04-05 10:00"):
        second, third = receive_line(assistant, line, 30), receive_line(assistant, foil, 4)
        assert stands(order)[0] == "received"
        reverse(assistant, received(second), note="the wrong box")
    assert stands(order) == ("part", None, [20, 4])
    line.refresh_from_db()
    assert (line.first_on, line.last_on) == (day("2025-04-02"), day("2025-04-02"))
    step = order.steps.last()
    assert (step.kind, step.note) == ("undone", f"30 of 14-inch blank, lot {second.code}")
    reverse(assistant, received(first))
    reverse(assistant, received(third))
    assert stands(order) == ("sent", None, [0, 0])
    line.refresh_from_db()
    assert (line.first_on, line.last_on) == (None, None)
    assert queries.ledger_faults() == []


def test_on_an_order_closed_short_it_stays_closed(engineer, order, line):
    lot = receive_line(engineer, line, 20)
    actions.close_order_short(by=engineer, once=once(), order=order, why="the rest is not made any more")
    reverse(engineer, received(lot))
    assert stands(order) == ("closed", None, [0, 0])
    assert queries.to_come() == queries.ledger_faults() == []


def test_what_is_kept_of_a_line_is_held_against_the_ledger(engineer, order, line):
    receive_line(engineer, line, 20)
    assert queries.ledger_faults() == []
    assert [open_line.open_quantity for open_line in queries.to_come()] == [30, 4]
    order.lines.update(is_open=False, arrived=21)
    assert [fault.partition(", ")[2] for fault in queries.ledger_faults()] == [
        "14-inch blank: 21 counted as come, but 20 received on it.",
        "14-inch blank: kept as not open.",
        "Foil: 21 counted as come, but 0 received on it.",
    ]


def test_what_was_used_of_it_is_undone_first(engineer, order, line):
    lot = receive_line(engineer, line, 20)
    use(engineer, lot, 3)
    with pytest.raises(Refused, match="Undo what was taken from it first"):
        reverse(engineer, received(lot))
    assert stands(order)[2] == [20, 0]


def test_a_use_of_it_undone_leaves_the_order_alone(engineer, order, line):
    taken = use(engineer, receive_line(engineer, line, 20), 3)
    reverse(engineer, taken)
    assert stands(order) == ("part", None, [20, 0])


def test_an_undone_lot_received_afresh_belongs_to_what_it_is_received_on(engineer, order, line, item):
    lot = receive_line(engineer, line, 20, code="B-7")
    reverse(engineer, received(lot))
    again = make_lot(engineer, item, 5, code="B-7", supplier=order.supplier)
    assert (again.pk, again.order_line) == (lot.pk, None)
    reverse(engineer, again.movements.filter(kind="received", reversed_by=None).get())
    assert stands(order) == ("sent", None, [0, 0])
    once_more = receive_line(engineer, line, 50, code="B-7")
    assert (once_more.pk, once_more.order_line) == (lot.pk, line)
    assert stands(order) == ("part", None, [50, 0])


def test_two_orders_of_one_supplier_keep_apart(engineer, order, line, item):
    other = make_sent(engineer, (item, 10), supplier=order.supplier)
    receive_line(engineer, other.lines.get(), 10)
    assert stands(order) == ("sent", None, [0, 0])
    assert stands(other) == ("received", day("2025-03-03"), [10])


def test_an_item_given_up_meanwhile_is_taken_up_first(engineer, order, line, item):
    facts = {"name": item.name, "kind": "blank", "unit": "each", "blank_in": 14}
    actions.change_item(by=engineer, once=once(), item=item, version=1, is_active=False, **facts)
    with pytest.raises(Refused, match="no longer kept"):
        receive_line(engineer, line, 5)
    assert make_supplier(engineer, "Elsewhere")
