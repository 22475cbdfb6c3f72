"""What is asked of suppliers: drafted, changed, sent, promised anew, closed short, dropped; who did it, and when."""

from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction

from shop.refusal import Changed, Doubtful, NotAllowed, Refused
from shop.stock import actions
from shop.stock.models import Order, OrderLine, OrderStep
from tests.makers import anyway
from tests.stock.makers import (
    day,
    make_item,
    make_liquid,
    make_order,
    make_sent,
    make_supplier,
    once,
    receive_line,
    send_order,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("march")]


@pytest.fixture
def item(engineer):
    return make_item(engineer)


def steps(order):
    return [(step.kind, step.by.name, step.note) for step in order.steps.select_related("by")]


# Drafting -------------------------------------------------------------------------------------------------------------


def test_a_draft_holds_its_lines_and_says_who_wrote_it(assistant, engineer, item):
    solvent = make_liquid(engineer)
    lines = (item, 75, Decimal("31.5")), (solvent, 2500)
    order = make_order(assistant, *lines, supplier=make_supplier(engineer), note="  by van,  please ")
    assert (order.state, order.sent_on, order.expected_on, order.note) == ("draft", None, None, "by van, please")
    assert list(order.lines.values_list("item", "quantity", "arrived", "unit_cost")) == [
        (item.pk, 75, 0, Decimal("31.5000")),
        (solvent.pk, 2500, 0, None),
    ]
    assert steps(order) == [("drafted", "Asta Pellow", "75 of 14-inch blank, 2.5\u00a0l of Wiping solvent")]


def test_a_draft_may_be_empty_but_not_be_sent(engineer):
    order = make_order(engineer)
    with pytest.raises(Refused, match="Nothing is on this order yet"):
        send_order(engineer, order)


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"quantity": 0}, "lines.1.quantity", "above zero"),
        ({"quantity": -3}, "lines.1.quantity", "above zero"),
        ({"quantity": 10**9}, "lines.1.quantity", "more than"),
        ({"quantity": 2.5}, "lines.1.quantity", "whole number"),
        ({"unit_cost": Decimal("-1")}, "lines.1.unit_cost", "not below zero"),
        ({"unit_cost": Decimal("NaN")}, "lines.1.unit_cost", "not below zero"),
    ],
)
def test_a_line_that_can_not_be_is_refused_at_its_place(engineer, item, facts, field, sentence):
    other = make_item(engineer, "Foil", kind="part")
    with pytest.raises(Refused, match=sentence) as refused:
        make_order(engineer, (item, 5), tuple({"item": other, "quantity": 5, "unit_cost": None, **facts}.values()))
    assert refused.value.field == field
    assert not Order.objects.exists()


def test_an_item_twice_no_longer_kept_or_too_many_lines(engineer, item):
    with pytest.raises(Refused, match="14-inch blank is there twice") as refused:
        make_order(engineer, (item, 5), (item, 6))
    assert refused.value.field == "lines.1.item"
    parts = [make_item(engineer, f"Part {n}", kind="part") for n in range(25)]
    with pytest.raises(Refused, match="at most 24 lines"):
        make_order(engineer, *[(part, 1) for part in parts], supplier=make_supplier(engineer, "Elsewhere"))
    facts = {"name": item.name, "kind": "blank", "unit": "each", "blank_in": 14}
    actions.change_item(by=engineer, once=once(), item=item, version=1, is_active=False, **facts)
    with pytest.raises(Refused, match="14-inch blank is no longer kept") as refused:
        make_order(engineer, (item, 5), supplier=make_supplier(engineer, "Nowhere"))
    assert refused.value.field == "lines.0.item"


def test_not_from_a_supplier_no_longer_ordered_from(engineer, item):
    supplier = make_supplier(engineer)
    order = make_order(engineer, (item, 5), supplier=supplier)
    actions.change_supplier(by=engineer, once=once(), supplier=supplier, version=1, name="Gone", is_active=False)
    for refused in (
        lambda: make_order(engineer, (item, 5), supplier=supplier),
        lambda: send_order(engineer, order),
    ):
        with pytest.raises(Refused, match="Gone is no longer ordered from") as no:
            refused()
        assert no.value.field == "supplier"


@pytest.mark.parametrize(
    ("quantity", "sentence"),
    [
        (60, "comes in packs of 25: full ones would make 75"),
        (25, "the smallest order is 50"),
        (10, "the smallest order is 50"),
    ],
)
def test_broken_packs_and_less_than_the_smallest_order_are_asked_about(engineer, item, quantity, sentence):
    actions.plan_item(by=engineer, once=once(), item=item, version=1, pack_size=25, minimum_order=50)
    supplier = make_supplier(engineer)
    with pytest.raises(Doubtful, match=sentence) as asked:
        make_order(engineer, (item, quantity), supplier=supplier)
    assert [doubt.field for doubt in asked.value.doubts] == ["lines.0.quantity"]
    assert not Order.objects.exists()
    keys = [doubt.key for doubt in asked.value.doubts]
    assert make_order(engineer, (item, quantity), supplier=supplier, sure=keys).lines.get().quantity == quantity
    assert make_order(engineer, (item, 75), supplier=supplier)


def test_the_same_press_twice_is_one_order(engineer, item):
    token, supplier = once(), make_supplier(engineer)
    typed = {"supplier": supplier, "lines": [actions.WantedLine(item, 5)]}
    first = actions.draft_order(by=engineer, once=token, **typed)
    assert actions.draft_order(by=engineer, once=token, **typed) == first
    assert (Order.objects.count(), OrderLine.objects.count(), OrderStep.objects.count()) == (1, 1, 1)


# Changing -------------------------------------------------------------------------------------------------------------


def change(by, order, *lines, version=None, **other):
    order.refresh_from_db()
    typed = {"supplier": order.supplier, "version": version or order.version} | other
    return actions.change_order(
        by=by, once=once(), order=order, lines=[actions.WantedLine(*line) for line in lines], **typed
    )


def test_a_draft_is_changed_to_the_lines_given(engineer, assistant, item):
    order = make_order(engineer, (item, 5))
    foil, other = make_item(engineer, "Foil", kind="part"), make_supplier(engineer, "Elsewhere")
    changed = change(assistant, order, (foil, 2), (item, 9), supplier=other, note="soon")
    assert list(changed.lines.values_list("item", "quantity")) == [(foil.pk, 2), (item.pk, 9)]
    assert (changed.supplier, changed.note, changed.version) == (other, "soon", 2)
    assert steps(changed)[-1] == ("changed", "Asta Pellow", "2 of Foil, 9 of 14-inch blank")


def test_a_stale_change_is_told_and_one_of_what_was_sent_refused(engineer, assistant, item):
    order = make_order(engineer, (item, 5), supplier=make_supplier(engineer, lead_days=3))
    change(engineer, order, (item, 6))
    with pytest.raises(Changed):
        change(assistant, order, (item, 7), version=1)
    send_order(engineer, order)
    with pytest.raises(Refused, match=r"no draft any more \(sent\), so it can't be changed"):
        change(assistant, order, (item, 7))
    assert order.lines.get().quantity == 6


# Sending --------------------------------------------------------------------------------------------------------------


def test_sending_sets_the_day_and_what_was_promised(engineer, item):
    order = make_sent(engineer, (item, 5))
    assert (order.state, order.sent_on, order.expected_on) == ("sent", day("2025-03-03"), day("2025-04-07"))
    assert order.promised_on == day("2025-04-07")
    assert steps(order)[-1] == ("sent", "Edvin Maarsk", "expected on 7 April 2025")


def test_sent_earlier_and_expected_on_another_day(engineer, item):
    order = make_sent(engineer, (item, 5), sent_on=day("2025-03-01"), expected_on=day("2025-05-01"))
    assert (order.sent_on, order.expected_on) == (day("2025-03-01"), day("2025-05-01"))
    assert order.promised_on == day("2025-04-05")


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"sent_on": "2025-03-04"}, "sent_on", "in the future"),
        ({"sent_on": "0205-03-04"}, "sent_on", "before 1970"),
        ({"expected_on": "2025-03-02"}, "expected_on", "before it is sent, on 3 March 2025"),
    ],
)
def test_days_that_can_not_be(engineer, item, facts, field, sentence):
    with pytest.raises(Refused, match=sentence) as refused:
        make_sent(engineer, (item, 5), **{name: day(text) for name, text in facts.items()})
    assert refused.value.field == field
    assert Order.objects.get().is_draft


def test_no_day_and_a_day_far_off_are_asked_about(engineer, item):
    supplier = make_supplier(engineer)
    order = make_order(engineer, (item, 5), supplier=supplier)
    with pytest.raises(Doubtful, match="promises no lead time") as asked:
        send_order(engineer, order)
    assert [doubt.field for doubt in asked.value.doubts] == ["expected_on"]
    with pytest.raises(Doubtful, match="more than two years off"):
        send_order(engineer, order, expected_on=day("2052-03-03"))
    sent = send_order(engineer, order, sure=["no-day"])
    assert (sent.expected_on, sent.is_late(day("2030-01-01"))) == (None, False)


def test_what_is_sent_is_what_was_looked_at_and_once(engineer, assistant, item):
    order = make_order(engineer, (item, 5), supplier=make_supplier(engineer, lead_days=3))
    change(assistant, order, (item, 500))
    with pytest.raises(Changed):
        actions.send_order(by=engineer, once=once(), order=order, version=1)
    send_order(engineer, order)
    with pytest.raises(Refused, match="no draft any more"):
        send_order(engineer, order)


# What follows ---------------------------------------------------------------------------------------------------------


def promise(by, order, text, why="they rang", **other):
    return actions.promise_anew(by=by, once=once(), order=order, expected_on=day(text), why=why, **other)


def test_a_new_day_with_a_word(engineer, assistant, item, at):
    order = make_sent(engineer, (item, 5))
    with at("2025-04-10 09:00"):
        assert order.is_late(day("2025-04-10"))
        promised = promise(assistant, order, "2025-04-24", "the lacquer came late")
        assert (promised.expected_on, promised.is_late(day("2025-04-24"))) == (day("2025-04-24"), False)
        assert steps(order)[-1] == ("promised", "Asta Pellow", "expected on 24 April 2025: the lacquer came late")
        with pytest.raises(Refused, match="expected already") as refused:
            promise(assistant, order, "2025-04-24")
        assert refused.value.field == "expected_on"
        with pytest.raises(Refused, match="gone by"):
            promise(assistant, order, "2025-04-09")
        with pytest.raises(Refused, match="Write something") as refused:
            promise(assistant, order, "2025-04-25", " ")
        assert refused.value.field == "why"
        with pytest.raises(Doubtful):
            promise(assistant, order, "2052-04-25")


def test_closed_short_and_then_nothing_more(engineer, item):
    order = make_sent(engineer, (item, 5))
    with pytest.raises(Refused) as refused:
        actions.close_order_short(by=engineer, once=once(), order=order, why="")
    assert refused.value.field == "why"
    closed = actions.close_order_short(by=engineer, once=once(), order=order, why="they stopped making it")
    assert (closed.state, closed.is_under_way) == ("closed", False)
    assert steps(order)[-1] == ("closed", "Edvin Maarsk", "they stopped making it")
    for act in (
        lambda: promise(engineer, order, "2025-05-01"),
        lambda: receive_line(engineer, order.lines.get(), 5),
        lambda: actions.close_order_short(by=engineer, once=once(), order=order, why="again"),
    ):
        with pytest.raises(Refused, match="is closed short: nothing more is expected"):
            act()


def test_only_a_draft_is_dropped_and_it_stays_on_record(engineer, assistant, item):
    order = make_order(assistant, (item, 5), supplier=make_supplier(engineer))
    dropped = actions.drop_order(by=assistant, once=once(), order=order, why="found some in the cellar")
    assert (dropped.state, dropped.lines.count()) == ("dropped", 1)
    assert steps(order)[-1] == ("dropped", "Asta Pellow", "found some in the cellar")
    with pytest.raises(Refused, match=r"no draft any more \(dropped\)"):
        actions.drop_order(by=assistant, once=once(), order=order)
    with pytest.raises(Refused, match="no draft any more"):
        send_order(engineer, order)
    with pytest.raises(Refused, match="can't be dropped"):
        actions.drop_order(
            by=assistant,
            once=once(),
            order=make_sent(engineer, (item, 5), supplier=make_supplier(engineer, "B", lead_days=2)),
        )


def test_who_may(engineer, assistant, visitor, item):
    order = make_order(engineer, (item, 5), supplier=make_supplier(engineer, lead_days=3))
    typed = {"once": once(), "order": order}
    with pytest.raises(NotAllowed):
        actions.send_order(by=assistant, version=1, **typed)
    send_order(engineer, order)
    with pytest.raises(NotAllowed):
        actions.close_order_short(by=assistant, why="x", **typed)
    for act, more in (
        (actions.draft_order, {"supplier": order.supplier, "lines": []}),
        (actions.change_order, {"order": order, "version": 2, "supplier": order.supplier, "lines": []}),
        (actions.promise_anew, {"order": order, "expected_on": day("2025-04-01"), "why": "x"}),
        (actions.drop_order, {"order": order}),
        (actions.receive_on_order, {"line": order.lines.get(), "code": "x", "quantity": 1}),
    ):
        with pytest.raises(NotAllowed):
            act(by=visitor, once=once(), **more)


def test_steps_are_only_added(engineer, item):
    order = make_order(engineer, (item, 5))
    for change_it in (lambda: order.steps.update(note="x"), lambda: order.steps.all().delete()):
        with pytest.raises(DatabaseError, match="never changed or removed"), transaction.atomic():
            change_it()


def test_anyone_s_units_are_spoken_in_the_steps(owner, engineer):
    owner.liquid_unit = "gal"
    owner.save()
    order = anyway(
        actions.draft_order,
        by=owner,
        supplier=make_supplier(engineer),
        lines=[actions.WantedLine(make_liquid(engineer), 3785)],
    )
    assert steps(order)[0][2] == "1.000\u00a0US gal of Wiping solvent"
