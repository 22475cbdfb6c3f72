"""Items, suppliers, defects, and what is known of a lot: keeping and changing them."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import call_command

from shop import clock
from shop.refusal import Changed, NotAllowed, Refused
from shop.stock import actions
from shop.stock.models import Defect, Item, Supplier
from tests.stock.makers import make_defect, make_item, make_liquid, make_lot, make_supplier, once, use

pytestmark = pytest.mark.django_db

BLANK = {"name": "Blank", "kind": "blank", "unit": "each", "blank_in": 14}


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 81}, "name"),
        ({"kind": "disc"}, "kind"),
        ({"unit": "pint"}, "unit"),
        ({"unit": "ml"}, "unit"),
        ({"blank_in": None}, "blank_in"),
        ({"blank_in": 13}, "blank_in"),
        ({"kind": "part"}, "blank_in"),
        ({"minimum": -1}, "minimum"),
        ({"minimum": 10**9}, "minimum"),
        ({"shelf_days": 0}, "shelf_days"),
        ({"shelf_days": 10**6}, "shelf_days"),
        ({"warn_days": -1}, "warn_days"),
    ],
)
def test_an_item_that_can_not_be(engineer, facts, field):
    with pytest.raises(Refused) as refused:
        actions.add_item(by=engineer, once=once(), **BLANK | facts)
    assert refused.value.field == field
    assert not Item.objects.exists()


def test_names_are_taken_once_however_written(engineer):
    make_item(engineer, "Blank")
    make_supplier(engineer, "Nowhere")
    make_defect(engineer, "Dull")
    for add in (
        lambda: make_item(engineer, " BLANK"),
        lambda: make_supplier(engineer, "nowhere"),
        lambda: make_defect(engineer, "dull"),
    ):
        with pytest.raises(Refused, match="already") as refused:
            add()
        assert refused.value.field == "name"


def test_only_engineers_change_what_is_kept(assistant, engineer):
    lot = make_lot(engineer, make_item(engineer), 1)
    for act, typed in (
        (actions.add_item, BLANK),
        (actions.change_item, {"item": lot.item, "version": 1, **BLANK}),
        (actions.add_supplier, {"name": "x"}),
        (actions.add_defect, {"name": "x"}),
        (actions.hold_lot, {"lot": lot, "why": "x"}),
        (actions.release_lot, {"lot": lot, "note": "clean"}),
        (actions.correct_lot, {"lot": lot, "version": 1, "code": "x", "why": "x"}),
    ):
        with pytest.raises(NotAllowed):
            act(by=assistant, once=once(), **typed)


def test_once_there_are_lots_an_item_stays_what_it_was_counted_as(engineer):
    item = make_item(engineer, "Blank")
    lot = make_lot(engineer, item, 2)
    for other, field in (({"kind": "part", "blank_in": None}, "kind"), ({"blank_in": 12}, "blank_in")):
        with pytest.raises(Refused, match="Add a new item") as refused:
            actions.change_item(by=engineer, once=once(), item=item, version=1, **BLANK | other)
        assert refused.value.field == field
    with pytest.raises(Refused, match="still on hand"):
        actions.change_item(by=engineer, once=once(), item=item, version=1, is_active=False, **BLANK)
    use(engineer, lot, 2)
    changed = actions.change_item(by=engineer, once=once(), item=item, version=1, is_active=False, **BLANK)
    assert not changed.is_active


def test_new_shelf_days_move_only_lots_without_a_date_of_their_own(engineer):
    item = make_item(engineer, "Blank", shelf_days=10)
    today = clock.today()
    own = make_lot(engineer, item, best_before=today + timedelta(days=50))
    by_shelf = make_lot(engineer, item, made_on=today - timedelta(days=1))
    actions.change_item(by=engineer, once=once(), item=item, version=1, shelf_days=100, **BLANK)
    own.refresh_from_db()
    by_shelf.refresh_from_db()
    assert (own.last_day, by_shelf.last_day) == (today + timedelta(days=50), today + timedelta(days=99))
    actions.change_item(by=engineer, once=once(), item=item, version=2, **BLANK)
    by_shelf.refresh_from_db()
    assert by_shelf.last_day is None


def test_a_form_opened_before_another_saved_is_told_so(engineer):
    item, supplier, defect = make_item(engineer, "Blank"), make_supplier(engineer), make_defect(engineer)
    actions.change_item(by=engineer, once=once(), item=item, version=1, minimum=4, **BLANK)
    with pytest.raises(Changed):
        actions.change_item(by=engineer, once=once(), item=item, version=1, minimum=9, **BLANK)
    item.refresh_from_db()
    assert item.minimum == 4
    actions.change_supplier(by=engineer, once=once(), supplier=supplier, version=1, name="Elsewhere")
    with pytest.raises(Changed):
        actions.change_supplier(by=engineer, once=once(), supplier=supplier, version=1, name="Anywhere")
    actions.change_defect(by=engineer, once=once(), defect=defect, version=1, name="Peel")
    with pytest.raises(Changed):
        actions.change_defect(by=engineer, once=once(), defect=defect, version=1, name="Rind")


def test_what_is_put_right_of_a_lot_stays_told(engineer):
    item = make_item(engineer)
    lot = make_lot(engineer, item, code="K1", unit_cost=Decimal("10"))
    make_lot(engineer, item, code="K2")
    facts = {"by": engineer, "lot": lot, "why": "typed wrong"}
    with pytest.raises(Refused, match="has that code"):
        actions.correct_lot(once=once(), version=1, code="k2", **facts)
    with pytest.raises(Refused, match="Nothing differs"):
        actions.correct_lot(once=once(), version=1, code="K1", unit_cost=Decimal("10.0000"), **facts)
    actions.correct_lot(once=once(), version=1, code="K3", unit_cost=Decimal("12.5"), note="box", **facts)
    lot.refresh_from_db()
    assert (lot.code, lot.unit_cost, lot.note) == ("K3", Decimal("12.5"), "box")
    remark = lot.remarks.get()
    assert (remark.note, remark.money) == (
        "code K1 → K3; note none → box; price. typed wrong",
        "price 10.00 EUR each → 12.50 EUR each",
    )
    with pytest.raises(Changed):
        actions.correct_lot(once=once(), version=1, code="K4", **facts)


def test_the_starter_content_loads_and_names_no_supplier(room_row, engineer):
    call_command("loaddata", "starter_stock", verbosity=0)
    assert {item.blank_in for item in Item.objects.filter(kind="blank")} == {14, 12, 10}
    assert Defect.objects.count() > 8
    assert not Supplier.objects.exists()
    assert not Item.objects.exclude(minimum=0).exists()
    item = Item.objects.get(kind="liquid", name="Wiping solvent")
    call_command("loaddata", "starter_stock", verbosity=0)
    assert Item.objects.get(name="Wiping solvent") == item
    make_lot(engineer, item, 500)
    assert make_liquid(engineer, "Another solvent").pk != item.pk
