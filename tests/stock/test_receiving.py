"""Receiving a delivery: the lot, its dates, and what is refused or asked about."""

from datetime import timedelta
from decimal import Decimal

import pytest

from shop import clock
from shop.refusal import Doubtful, Refused
from shop.stock import actions
from shop.stock.models import Lot, Movement
from tests import makers
from tests.stock.makers import day, make_item, make_liquid, make_lot, make_supplier, once, reverse, use

pytestmark = pytest.mark.django_db


def test_a_delivery_is_a_lot_and_its_first_line(assistant, engineer, at):
    item, supplier = make_item(engineer), make_supplier(engineer)
    with at("2025-03-03 09:15"):
        lot = make_lot(assistant, item, 20, code=" K 14 ", supplier=supplier, unit_cost=Decimal("14.25"))
    line = Movement.objects.get()
    assert (lot.code, lot.on_hand, lot.supplier, lot.received_on) == ("K 14", 20, supplier, day("2025-03-03"))
    assert (line.kind, line.change, line.balance, line.by, line.item) == ("received", 20, 20, assistant, item)
    assert line.at == line.recorded_at == makers.moment("2025-03-03 09:15")


def test_one_entered_late_counts_from_the_day_it_came(engineer, at):
    item = make_item(engineer)
    with at("2025-03-05 09:15"):
        lot = make_lot(engineer, item, 20, received_on=day("2025-03-03"))
        assert use(engineer, lot, at=makers.moment("2025-03-03 08:00")).change == -1
    line = Movement.objects.get(kind="received")
    assert line.at == makers.moment("2025-03-03 00:00")
    assert line.recorded_at == makers.moment("2025-03-05 09:15")


@pytest.mark.parametrize(
    ("dates", "last_day"),
    [
        ({"best_before": "2026-01-31", "made_on": "2025-01-01"}, "2026-01-31"),
        ({"made_on": "2025-01-01"}, "2025-04-11"),
        ({}, "2025-06-11"),
    ],
)
def test_the_last_day_is_the_lot_s_own_date_else_by_shelf_days(engineer, at, dates, last_day):
    with at("2025-03-03 09:00"):
        lot = make_lot(engineer, make_item(engineer, shelf_days=100), **{n: day(d) for n, d in dates.items()})
    assert lot.last_day == day(last_day)


def test_without_either_there_is_no_last_day(engineer):
    assert make_lot(engineer, make_item(engineer)).last_day is None


def test_a_code_is_that_supplier_s_only_once(engineer):
    item, supplier = make_item(engineer), make_supplier(engineer)
    make_lot(engineer, item, code="K1", supplier=supplier)
    with pytest.raises(Refused, match="Lot K1 of Blankworks of Nowhere was already received") as refused:
        make_lot(engineer, item, code="k1", supplier=supplier)
    assert refused.value.field == "code"
    assert make_lot(engineer, item, code="K1").supplier is None
    with pytest.raises(Refused, match="Lot K1 was already received"):
        make_lot(engineer, item, code="K1")
    assert make_lot(engineer, make_liquid(engineer), code="K1", supplier=supplier)
    assert Lot.objects.count() == 3


def test_a_delivery_that_was_undone_may_be_entered_afresh(engineer):
    item = make_item(engineer)
    lot = make_lot(engineer, item, 30, code="K1")
    reverse(engineer, lot.movements.get())
    again = make_lot(engineer, item, 13, code="K1", best_before=clock.today() + timedelta(days=90))
    assert again == lot
    lot.refresh_from_db()
    assert (lot.on_hand, lot.last_day) == (13, clock.today() + timedelta(days=90))
    assert [line.change for line in lot.movements.order_by("id")] == [30, -30, 13]
    use(engineer, lot, 13)
    with pytest.raises(Refused, match="already received"):
        make_lot(engineer, item, code="K1")


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"quantity": 0}, "quantity", "above zero"),
        ({"quantity": -5}, "quantity", "above zero"),
        ({"quantity": 1_000_001}, "quantity", "more than"),
        ({"code": "  "}, "code", "Write something"),
        ({"code": "x" * 61}, "code", "60 characters"),
        ({"note": "x" * 301}, "note", "300 characters"),
        ({"received_on": "2025-03-04"}, "received_on", "future"),
        ({"received_on": "0001-01-01"}, "received_on", "1970"),
        ({"made_on": "2025-03-04"}, "made_on", "future"),
        ({"made_on": "2025-03-02", "received_on": "2025-03-01"}, "made_on", "came in on"),
        ({"best_before": "2025-01-30", "made_on": "2025-01-31"}, "best_before", "before it was made"),
        ({"best_before": "0025-01-30"}, "best_before", "1970"),
        ({"unit_cost": Decimal("-1")}, "unit_cost", "not below zero"),
        ({"unit_cost": Decimal("NaN")}, "unit_cost", "not below zero"),
        ({"unit_cost": Decimal("1e9")}, "unit_cost", "below a million"),
    ],
)
def test_what_can_not_be(engineer, at, facts, field, sentence):
    item = make_item(engineer)
    facts = {n: day(v) if n.endswith("_on") or n == "best_before" else v for n, v in facts.items()}
    with at("2025-03-03 09:00"), pytest.raises(Refused, match=sentence) as refused:
        make_lot(engineer, item, **facts)
    assert refused.value.field == field
    assert not Lot.objects.exists()
    assert not Movement.objects.exists()


def test_what_looks_wrong_is_asked_about(engineer, at):
    item = make_item(engineer)
    with at("2025-03-03 09:00"):
        with pytest.raises(Doubtful, match="past it on arrival"):
            make_lot(engineer, item, best_before=day("2025-03-02"))
        with pytest.raises(Doubtful, match="more than ten years off"):
            make_lot(engineer, item, best_before=day("2052-03-02"))
        assert not Lot.objects.exists()
        assert make_lot(engineer, item, best_before=day("2025-03-02"), sure=["past-on-arrival"])
        assert make_lot(engineer, item, best_before=day("2025-03-03"))


def test_an_item_no_longer_kept_receives_nothing(engineer):
    item = make_item(engineer)
    facts = {"name": item.name, "kind": "blank", "unit": "each", "blank_in": 14}
    actions.change_item(by=engineer, once=once(), item=item, version=1, is_active=False, **facts)
    with pytest.raises(Refused, match="no longer kept"):
        make_lot(engineer, item)
