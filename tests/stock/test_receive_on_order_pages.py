"""Receiving on orders and looking lots over: what the pages show, and what a press does."""

import re
import sys
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.stock import actions
from shop.stock.models import Inspection, Lot
from tests.stock.makers import (
    make_defect,
    make_item,
    make_lot,
    make_sent,
    make_supplier,
    receive_line,
)
from tests.stock.pages import press, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("march")]


# Receiving ------------------------------------------------------------------------------------------------------------


def test_what_is_expected_leads_to_receiving(client_of, engineer, assistant, visitor, item, supplier, at):
    later = make_sent(engineer, (item, 75), supplier=supplier)
    sooner = make_sent(engineer, (item, 50), supplier=make_supplier(engineer, "Nearby", lead_days=2))
    done = make_sent(engineer, (item, 100), supplier=supplier)
    receive_line(engineer, done.lines.get(), 100)
    with at("2025-03-08 09:00"):
        page = words(client_of(assistant).get(reverse("stock:expected")))
        assert page.index(f"Order {sooner.pk}") < page.index(f"Order {later.pk}")
        assert f"Order {done.pk}<" not in page
        assert "3 days late" in page
        assert reverse("stock:receive-on-order", args=[later.lines.get().pk]) in page
        looking = words(client_of(visitor).get(reverse("stock:expected")))
        assert "/receive/" not in looking
    assert reverse("stock:expected") in words(client_of(assistant).get("/"))
    assert reverse("stock:expected") in words(client_of(assistant).get(reverse("stock:orders")))


def test_an_item_says_what_is_on_its_way(client_of, assistant, engineer, item, supplier):
    client = client_of(assistant)
    assert "on its way" not in words(client.get(item.get_absolute_url()))
    line = make_sent(engineer, (item, 75), supplier=supplier).lines.get()
    page = words(client.get(item.get_absolute_url()))
    on_its_way = (
        f'75 on its way: <a href="{line.order.get_absolute_url()}">Order {line.order_id}</a>, expected 7 Apr 2025'
    )
    assert on_its_way in page
    address = reverse("stock:receive-on-order", args=[line.pk])
    assert address in page
    delivery = words(client.get(reverse("stock:receive-delivery", args=[item.pk])))
    assert f'<a href="{address}">Order {line.order_id} from Faraway Lacquer, 75 to come</a>' in delivery
    receive_line(engineer, line, 75)
    assert address not in words(client.get(reverse("stock:receive-delivery", args=[item.pk])))


def test_nothing_expected_says_what_to_do(client_of, assistant, engineer, room_row):
    page = words(client_of(assistant).get(reverse("stock:expected")))
    assert "Nothing is on its way." in page
    assert "An engineer adds what the room keeps" in page
    assert reverse("stock:add-item") in words(client_of(engineer).get(reverse("stock:expected")))


def test_what_came_without_an_order_is_received_on_its_item_blanks_first(
    client_of, assistant, engineer, visitor, item, monkeypatch
):
    solvent = make_item(engineer, name="A solvent", kind="liquid", unit="ml", blank_in=None)
    ways = [reverse("stock:receive-delivery", args=[one.pk]) for one in (item, solvent)]
    client = client_of(assistant)
    page = words(client.get(reverse("stock:expected")))
    assert page.index(ways[0]) < page.index(ways[1])
    assert client.get(ways[0]).status_code == 200
    assert "choose among all" not in page
    assert "/receive/" not in words(client_of(visitor).get(reverse("stock:expected")))
    monkeypatch.setattr(sys.modules["shop.stock.views.orders"], "MOST_ITEMS", 1)
    page = words(client.get(reverse("stock:expected")))
    assert ways[1] not in page
    assert f'<a href="{reverse("stock:items")}">choose among all</a>' in page


def test_receiving_a_line_makes_the_lot_and_offers_to_look_it_over(client_of, assistant, engineer, item, supplier):
    order = make_sent(engineer, (item, 50, Decimal("31.5")), supplier=supplier)
    line = order.lines.get()
    client = client_of(engineer)
    page = client.get(reverse("stock:receive-on-order", args=[line.pk])).content.decode()
    assert 'inputmode="numeric"' in page
    assert 'name="unit_cost" value="31.5"' in page
    assert 'name="quantity" value=' not in page  # counted, not copied
    assert ">50 ordered<" in page
    typed = {"once": str(uuid4()), "code": "B-7", "quantity": "20", "best_before": "2026-03-01", "unit_cost": "32"}
    address = reverse("stock:receive-on-order", args=[line.pk])
    done = client.post(address, typed)
    lot = Lot.objects.get()
    assert done.url == lot.get_absolute_url()
    assert client.post(address, typed).url == done.url
    assert (lot.on_hand, str(lot.unit_cost), lot.order_line) == (20, "32.0000000000", line)
    page = words(client.get(done.url))
    assert f"Received 20 of 14-inch blank as lot B-7. 30 still to come on order {order.pk}." in page
    assert f'<a class="button" href="{reverse("stock:inspect-lot", args=[lot.pk])}">Look it over</a>' in page
    assert ">30 still to come of 50 ordered<" in client.get(address).content.decode()


def test_the_agreed_price_is_not_shown_to_an_assistant_and_is_taken_over(
    client_of, assistant, engineer, item, supplier
):
    line = make_sent(engineer, (item, 50, Decimal("31.5")), supplier=supplier).lines.get()
    client = client_of(assistant)
    page = client.get(reverse("stock:receive-on-order", args=[line.pk])).content.decode()
    assert "31.5" not in page
    assert "Empty for what was agreed in the order." in page
    assert press(client, "receive-on-order", line.pk, code="B-7", quantity="20").status_code == 302
    assert press(client, "receive-on-order", line.pk, code="B-8", quantity="20", unit_cost="33").status_code == 302
    assert press(client_of(engineer), "receive-on-order", line.pk, code="B-9", quantity="10").status_code == 302
    prices = {lot.code: lot.unit_cost for lot in Lot.objects.all()}
    assert prices == {"B-7": Decimal("31.5"), "B-8": Decimal(33), "B-9": None}


def test_more_than_was_ordered_is_ticked(client_of, assistant, engineer, item, supplier):
    line = make_sent(engineer, (item, 50), supplier=supplier).lines.get()
    client = client_of(assistant)
    typed = {"code": "B-7", "quantity": "55"}
    asked = press(client, "receive-on-order", line.pk, **typed)
    assert asked.status_code == 422
    assert "that makes more than was ordered. Is the count right?" in words(asked)
    key = re.search(r'name="sure" value="([^"]+)"', asked.content.decode()).group(1)
    assert press(client, "receive-on-order", line.pk, **typed, sure=key).status_code == 302
    refused = press(client, "receive-on-order", line.pk, code="B-8", quantity="1")
    assert refused.status_code == 422
    assert "had come by 3 March 2025. If more came, receive it as" in words(refused)
    assert Lot.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "box", "sentence"),
    [
        ({"code": ""}, "id_code", "Fill this in."),
        ({"code": "b-6"}, "id_code", "was already received on 3 March 2025"),
        ({"quantity": "0"}, "id_quantity", "below 1"),
        ({"quantity": "a box"}, "id_quantity", "not a number"),
        ({"received_on": "2025-02-03"}, "id_received_on", "was only sent on"),
        ({"received_on": "2999-01-01"}, "id_received_on", "in the future"),
        ({"made_on": "2025-03-02", "best_before": "2025-03-01"}, "id_best_before", "before it was made"),
        ({"unit_cost": "lots"}, "id_unit_cost", "not a number"),
    ],
)
def test_bad_input_is_said_at_its_box(client_of, assistant, engineer, item, supplier, typed, box, sentence):
    make_lot(engineer, item, 3, code="B-6", supplier=supplier)
    line = make_sent(engineer, (item, 50), supplier=supplier).lines.get()
    answer = press(client_of(assistant), "receive-on-order", line.pk, **{"code": "B-7", "quantity": "5"} | typed)
    assert answer.status_code == 422
    wrong = re.search(rf'<p class="wrong" id="{box}_error">(.*?)</p>', answer.content.decode())
    assert wrong, words(answer)
    assert sentence in unescape(wrong[1])
    line.refresh_from_db()
    assert (line.arrived, Lot.objects.count()) == (0, 1)


def test_a_delivery_undone_from_its_page_is_taken_off_the_order(client_of, assistant, engineer, item, supplier):
    order = make_sent(engineer, (item, 50), supplier=supplier)
    lot = receive_line(assistant, order.lines.get(), 50)
    client = client_of(assistant)
    asked = words(client.get(reverse("stock:reverse-movement", args=[lot.movements.get().pk])))
    assert "It came on an order, and is taken off that again." in asked
    assert client.post(reverse("stock:reverse-movement", args=[lot.movements.get().pk]), {"once": str(uuid4())}).url
    page = words(client.get(order.get_absolute_url()))
    assert "None has come yet." in page
    assert "Arrival undone" in page


# Looking over ---------------------------------------------------------------------------------------------------------


def test_a_look_over_from_its_page(client_of, assistant, engineer, item):
    lot = make_lot(engineer, item, 50, code="B-7")
    pinholes, warped = make_defect(engineer, "Pinholes"), make_defect(engineer, "Warped")
    client = client_of(assistant)
    page = client.get(reverse("stock:inspect-lot", args=[lot.pk])).content.decode()
    assert 'name="write_off" ' in page
    ticked = re.findall(r'<input[^>]*name="write_off"[^>]*checked[^>]*>', page)
    assert [re.search(r'value="([^"]*)"', one)[1] for one in ticked] == [""]
    assert "50 on hand in lot B-7" in page
    typed = {"looked_at": "10", f"found_{pinholes.pk}": "2", f"found_{warped.pk}": "", "outcome": "accept"}
    done = press(client, "inspect-lot", lot.pk, **typed, write_off="")
    assert done.url == lot.get_absolute_url()
    page = words(client.get(done.url))
    assert "10 looked at, 2 faulty. Lot B-7 may be used." in page
    assert "10 looked at, 2 faulty: pinholes 2." in page
    assert '<a class="button" href' in page
    assert "Look it over</a>" in page
    lot.refresh_from_db()
    assert lot.on_hand == 48
    held = press(client, "inspect-lot", lot.pk, **typed | {"outcome": "hold"}, write_off="")
    assert "pinholes 2 (left in the lot)" in words(client.get(held.url))
    lot.refresh_from_db()
    assert lot.on_hand == 48
    out = press(client, "inspect-lot", lot.pk, **typed | {"outcome": "hold"}, write_off="out")
    assert out.status_code == 302
    lot.refresh_from_db()
    assert lot.on_hand == 46
    actions.release_lot(by=engineer, once=uuid4(), lot=lot, note="looked at again")
    left = press(client, "inspect-lot", lot.pk, **typed, write_off="in")
    assert "pinholes 2 (left in the lot)" in words(client.get(left.url))
    lot.refresh_from_db()
    assert lot.on_hand == 46


def test_held_and_sent_back(client_of, assistant, engineer, item):
    lot = make_lot(engineer, item, 50, code="B-7")
    client = client_of(assistant)
    page = words(client.get(press(client, "inspect-lot", lot.pk, looked_at="5", outcome="hold", note="dull").url))
    assert "Lot B-7 is on hold." in page
    held = press(client, "inspect-lot", lot.pk, looked_at="5", outcome="accept")
    assert held.status_code == 422
    assert "only an engineer may let it be used again" in words(held)
    page = words(client.get(press(client, "inspect-lot", lot.pk, looked_at="5", outcome="return", note="dull").url))
    assert "All of lot B-7 goes back. If it is to be replaced, order it again." in page
    lot.refresh_from_db()
    assert lot.on_hand == 0


@pytest.mark.parametrize(
    ("typed", "box", "sentence"),
    [
        ({"looked_at": ""}, "id_looked_at", "Fill this in."),
        ({"looked_at": "0"}, "id_looked_at", "below 1"),
        ({"looked_at": "51"}, "id_looked_at", "Only 50"),
        ({"looked_at": "some"}, "id_looked_at", "not a number"),
        ({"found": "11"}, "id_found_PK", "11 faulty of 10 looked at"),
        ({"found": "-1"}, "id_found_PK", "below 0"),
        ({"outcome": ""}, "id_outcome", "Choose one."),
        ({"outcome": "hold"}, "id_note", "say why it is not accepted"),
    ],
)
def test_what_can_not_be_seen_is_said_at_its_box(client_of, assistant, engineer, item, typed, box, sentence):
    lot, defect = make_lot(engineer, item, 50), make_defect(engineer)
    full = {"looked_at": "10", "outcome": "accept"} | typed
    if "found" in full:
        full[f"found_{defect.pk}"] = full.pop("found")
    answer = press(client_of(assistant), "inspect-lot", lot.pk, **full)
    assert answer.status_code == 422
    wrong = re.search(rf'id="{box.replace("PK", str(defect.pk))}_error">(.*?)</p>', answer.content.decode())
    assert wrong, words(answer)
    assert sentence in unescape(wrong[1])
    assert not Inspection.objects.exists()
