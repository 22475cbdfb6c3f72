"""What single things cost is shown to those who see what all of it is worth, and to nobody else: pages and papers."""

from decimal import Decimal
from importlib import import_module
from io import BytesIO

import pypdf
import pytest
from django.apps import apps
from django.db import connection
from django.urls import reverse

from shop.appendonly import GUARDED, lift_guard, set_guard
from shop.people.models import ENGINEERS, Role
from shop.stock import actions
from shop.stock.models import Remark
from tests.makers import make_person
from tests.stock.makers import make_item, make_lot, make_order, make_sent, make_supplier, once, receive_line

pytestmark = pytest.mark.django_db

#: Figures that stand for nothing else on any page.
OF_A_LOT, WAS, OF_A_LINE, IN_ALL = "87.13", "86.71", "93.17", "4658.50"


@pytest.fixture
def priced(engineer):
    """A lot whose price was put right, and orders with prices: a draft, one that came in part."""
    item, supplier = make_item(engineer), make_supplier(engineer, contact="orders@faraway.example", lead_days=9)
    lot = make_lot(engineer, item, 5, code="K1", unit_cost=Decimal(WAS))
    facts = {"code": lot.code, "why": "the bill", "unit_cost": Decimal(OF_A_LOT)}
    lot = actions.correct_lot(by=engineer, once=once(), lot=lot, version=lot.version, **facts)
    draft = make_order(engineer, (item, 50, Decimal(OF_A_LINE)), supplier=supplier)
    sent = make_sent(engineer, (item, 50, Decimal(OF_A_LINE)), supplier=supplier)
    receive_line(engineer, sent.lines.get(), 20, code="K2")
    return {"lot": lot, "draft": draft, "sent": sent, "item": item, "supplier": supplier}


def shown(client, path):
    answer = client.get(path)
    assert answer.status_code == 200, path
    if answer["Content-Type"] == "application/pdf":
        return " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(answer.content)).pages)
    return answer.content.decode()


def figures(text):
    return {figure for figure in (OF_A_LOT, WAS, OF_A_LINE, IN_ALL) if figure in text}


def places(priced):
    """Every page and paper that could say one, and what it says to those who see prices."""
    lot, draft, sent = priced["lot"], priced["draft"], priced["sent"]
    return {
        lot.get_absolute_url(): {OF_A_LOT, WAS},
        reverse("cutting:trace-of", args=["lot", lot.pk]): {OF_A_LOT, WAS},
        reverse("cutting:trace-pdf", args=["lot", lot.pk]): {OF_A_LOT, WAS},
        draft.get_absolute_url(): {OF_A_LINE, IN_ALL},
        sent.get_absolute_url(): {OF_A_LINE, IN_ALL},
        reverse("stock:order-pdf", args=[sent.pk]): {OF_A_LINE, IN_ALL},
        reverse("stock:order-text", args=[draft.pk]): {OF_A_LINE, IN_ALL},
        priced["item"].get_absolute_url(): set(),
        priced["supplier"].get_absolute_url(): set(),
        reverse("stock:orders"): set(),
        reverse("stock:lots"): set(),
        reverse("stock:expected"): set(),
        reverse("stock:ledger"): set(),
        reverse("stock:lot-labels") + f"?lot={lot.pk}": set(),
    }


@pytest.mark.parametrize("role", list(Role))
def test_prices_are_shown_to_engineers_and_owners_only(client_of, priced, role):
    client = client_of(make_person("somebody", "Sun Body", role))
    for path, told in places(priced).items():
        assert figures(shown(client, path)) == (told if role in ENGINEERS else set()), path


def test_a_copy_without_prices_says_so_and_one_with_them_does_not(client_of, engineer, visitor, priced):
    for name in ("order-pdf", "order-text"):
        path = reverse(f"stock:{name}", args=[priced["sent"].pk])
        assert "a copy without prices" in shown(client_of(visitor), path).lower()
        assert "a copy without prices" not in shown(client_of(engineer), path).lower()
    bare = make_order(engineer, (priced["item"], 5), supplier=priced["supplier"])
    text = shown(client_of(visitor), reverse("stock:order-text", args=[bare.pk]))
    assert "without prices" not in text  # there is none to leave out


def test_who_sees_prices_finds_them_in_the_form_and_others_do_not(client_of, engineer, assistant, priced):
    forms = [
        reverse("stock:change-order", args=[priced["draft"].pk]),
        reverse("stock:receive-on-order", args=[priced["sent"].lines.get().pk]),
    ]
    for form in forms:
        assert OF_A_LINE in shown(client_of(engineer), form)
        assert figures(shown(client_of(assistant), form)) == set()
    client = client_of(assistant)
    assert figures(shown(client, reverse("stock:drop-order", args=[priced["draft"].pk]))) == set()
    assert figures(shown(client, reverse("stock:promise-anew", args=[priced["sent"].pk]))) == set()


def test_that_a_price_was_put_right_is_told_to_all_but_not_from_what_to_what(client_of, visitor, priced):
    page = shown(client_of(visitor), priced["lot"].get_absolute_url())
    assert "put right: price. the bill" in page


def test_the_migration_parts_what_older_remarks_say_of_a_price(engineer):
    lot = make_lot(engineer, make_item(engineer), 5)
    facts = {"lot": lot, "kind": "corrected", "at": lot.held_at or lot.movements.get().at, "by": engineer}
    notes = {
        "code K1 → K3; cost 10.0000 → 12.5000; note none → box. typed wrong": (
            "code K1 → K3; price; note none → box. typed wrong",
            "price 10.0000 → 12.5000",
        ),
        "cost none → 12.5. bill": ("price. bill", "price none → 12.5"),
        "note none → at no cost to us. told so": ("note none → at no cost to us. told so", ""),
    }
    rows = [Remark.objects.create(note=note, **facts) for note in notes]
    lift_guard(connection, "stock_remark")
    import_module("shop.stock.migrations.0011_remark_money").part(apps, None)
    set_guard(connection, "stock_remark", GUARDED["stock_remark"])
    for row, told in zip(rows, notes.values(), strict=True):
        row.refresh_from_db()
        assert (row.note, row.money) == told
