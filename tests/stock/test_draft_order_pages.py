"""The list of orders, and writing one down: what the pages show, and what a press does."""

import re
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.stock import actions
from shop.stock.models import Order, OrderLine
from tests.stock.makers import (
    make_item,
    make_liquid,
    make_lot,
    make_order,
    make_sent,
    make_supplier,
    once,
)
from tests.stock.pages import press, row, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("march")]


# The list -------------------------------------------------------------------------------------------------------------


def test_the_list_shows_what_is_open_and_narrows(client_of, engineer, item, supplier, at):
    draft = make_order(engineer, (item, 50), supplier=supplier)
    late = make_sent(engineer, (item, 75), supplier=supplier)
    dropped = make_order(engineer, (item, 100), supplier=supplier)
    actions.drop_order(by=engineer, once=once(), order=dropped)
    other = make_sent(engineer, (item, 125), supplier=make_supplier(engineer, "Elsewhere", lead_days=90))
    client = client_of(engineer)

    def shown(query=""):
        found = re.findall(r'">Order (\d+)</a></td>', client.get(reverse("stock:orders") + query).content.decode())
        return {int(pk) for pk in found}

    with at("2025-04-30 09:00"):
        assert shown() == {draft.pk, late.pk, other.pk}
        assert shown("?state=late") == {late.pk}
        assert shown("?state=all") == {draft.pk, late.pk, dropped.pk, other.pk}
        assert shown("?state=dropped") == {dropped.pk}
        assert shown(f"?supplier={other.supplier_id}") == {other.pk}
        assert shown(f"?item={item.pk}&state=sent") == {late.pk, other.pk}
        assert shown("?since=2025-03-04&state=all") == set()
        page = words(client.get(reverse("stock:orders")))
        assert page.count('<span class="badge">late</span>') == 1
        assert "75 of 14-inch blank" in page


def test_the_list_is_sorted_paged_and_asked_for_in_few_queries(
    client_of, engineer, item, supplier, django_assert_max_num_queries
):
    for quantity in range(50, 50 + 25 * 33, 25):
        make_order(engineer, (item, quantity), supplier=supplier)
    client = client_of(engineer)
    with django_assert_max_num_queries(12):
        page = client.get(reverse("stock:orders") + "?sort=-pk").content.decode()
    numbers = [int(pk) for pk in re.findall(r'">Order (\d+)</a></td>', page)]
    assert numbers == sorted(numbers, reverse=True)
    assert len(numbers) == 30
    assert "Page 1 of 2" in page
    second = client.get(reverse("stock:orders") + "?sort=-pk&page=2").content.decode()
    assert len(re.findall(r'">Order (\d+)</a></td>', second)) == 3


def test_an_empty_list_says_what_to_do(client_of, engineer, visitor, room_row):
    page = words(client_of(engineer).get(reverse("stock:orders")))
    assert "Nothing is drafted and nothing is on its way." in page
    assert "Draft an order" in page
    assert "Draft an order" not in words(client_of(visitor).get(reverse("stock:orders")))


# Drafting -------------------------------------------------------------------------------------------------------------


def test_without_a_supplier_one_is_chosen_first(client_of, assistant, supplier):
    page = words(client_of(assistant).get(reverse("stock:draft-order")))
    assert f'<a href="?supplier={supplier.pk}"><b>Faraway Lacquer</b>' in page
    assert "<form method" not in page.partition("<main")[2]


def test_a_draft_starts_with_what_comes_from_them_and_what_is_low_in_whole_packs(
    client_of, assistant, engineer, item, supplier
):
    make_item(engineer, "Enough", kind="part", supplier=supplier)
    make_lot(engineer, item, 7, supplier=supplier, unit_cost=Decimal(31))
    page = client_of(engineer).get(reverse("stock:draft-order") + f"?supplier={supplier.pk}").content.decode()
    assert 'name="r0_quantity" value="50"' in page  # up to 40, in packs of 25 and no less than 50
    assert 'name="r0_unit_cost" value="31"' in page
    assert "7 usable, minimum 20; packs of 25; 50 or more." in page
    assert re.search(rf'<option value="{item.pk}" selected>14-inch blank</option>', page)
    assert 'name="r1_quantity"' in page
    assert re.search(r'name="rows" value="3"', page)


def test_what_comes_already_is_not_suggested_again(client_of, assistant, engineer, item, supplier):
    make_sent(engineer, (item, 50), supplier=supplier)
    page = client_of(assistant).get(reverse("stock:draft-order") + f"?supplier={supplier.pk}").content.decode()
    assert 'name="r0_quantity" value=' not in page
    assert "0 usable, 50 to come, minimum 20" in page


def test_for_one_item_with_a_quantity(client_of, assistant, engineer, item, supplier):
    page = client_of(assistant).get(reverse("stock:draft-order") + f"?item={item.pk}&quantity=75").content.decode()
    assert 'name="r0_quantity" value="75"' in page
    assert re.search(rf'<option value="{supplier.pk}" selected>', page)
    solvent = make_liquid(engineer)
    page = client_of(assistant).get(reverse("stock:draft-order") + f"?item={solvent.pk}&quantity=2505").content.decode()
    assert 'name="r0_quantity" value="2.505"' in page
    assert client_of(assistant).get(reverse("stock:draft-order") + "?item=abc&quantity=-3").status_code == 200


def test_an_assistant_is_shown_no_price_and_what_is_known_goes_along(client_of, assistant, engineer, item, supplier):
    make_lot(engineer, item, 7, supplier=supplier, unit_cost=Decimal(31))
    solvent = make_liquid(engineer)
    client = client_of(assistant)
    address = reverse("stock:draft-order") + f"?supplier={supplier.pk}"
    assert "unit_cost" not in client.get(address).content.decode()
    typed = {"once": str(uuid4()), "supplier": str(supplier.pk), "rows": "2"}
    client.post(address, typed | row(0, item, "75", "1") | row(1, solvent, "2,5"))
    order = Order.objects.get()
    assert [line.unit_cost for line in order.lines.all()] == [Decimal(31), None]
    actions.change_order(
        by=engineer,
        once=once(),
        order=order,
        version=order.version,
        supplier=supplier,
        lines=[actions.WantedLine(item, 75, Decimal(32))],
    )
    order.refresh_from_db()
    change = reverse("stock:change-order", args=[order.pk])
    assert "unit_cost" not in client.get(change).content.decode()
    client.post(change, typed | {"once": str(uuid4()), "version": str(order.version)} | row(0, item, "100"))
    assert [(line.quantity, line.unit_cost) for line in order.lines.all()] == [(100, Decimal(32))]


def test_a_press_writes_the_draft_once(client_of, assistant, engineer, item, supplier):
    solvent = make_liquid(engineer)
    client = client_of(engineer)
    typed = {"once": str(uuid4()), "supplier": str(supplier.pk), "rows": "3", "note": "by <b>van</b>"}
    typed |= row(0, item, "75", "31,50") | row(1, solvent, "2,5") | row(2, item, "")
    address = reverse("stock:draft-order") + f"?supplier={supplier.pk}"
    answer = client.post(address, typed)
    order = Order.objects.get()
    assert answer.status_code == 302, words(answer)
    assert answer.url == order.get_absolute_url()
    assert [(line.item, line.quantity, str(line.unit_cost)) for line in order.lines.all()] == [
        (item, 75, "31.5000000000"),
        (solvent, 2500, "None"),
    ]
    assert client.post(address, typed).url == answer.url
    assert Order.objects.count() == 1
    page = words(client.get(answer.url))
    assert "is written down. It is not sent yet." in page
    assert "by <b>van</b>" in page
    assert "by <b>van" not in client.get(answer.url).content.decode()


def test_two_more_lines_keep_what_was_typed_and_judge_nothing(client_of, assistant, item, supplier):
    typed = {"supplier": str(supplier.pk), "rows": "2", "more": "1", "note": "x", "once": str(uuid4())}
    typed |= row(0, item, "many") | row(1, item, "")
    answer = client_of(assistant).post(reverse("stock:draft-order"), typed)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="many"' in page
    assert 'name="r3_quantity"' in page
    assert 'name="rows" value="4"' in page
    assert "Error: " not in page
    assert not Order.objects.exists()


@pytest.mark.parametrize(
    ("typed", "box", "sentence"),
    [
        ({"r1_quantity": "many"}, "id_r1_quantity", "not a number"),
        ({"r1_quantity": "0"}, "id_r1_quantity", "below 1"),
        ({"r1_quantity": "-3"}, "id_r1_quantity", "below 1"),
        ({"r1_quantity": "2.5"}, "id_r1_quantity", "whole number"),
        ({"r1_quantity": "99999999"}, "id_r1_quantity", "above"),
        ({"r1_item": ""}, "id_r1_item", "Choose what it is of."),
        ({"r1_item": "4711"}, "id_r1_item", "not on the list"),
        ({"r1_unit_cost": "-1"}, "id_r1_unit_cost", "below 0"),
        ({"r1_item": "same", "r1_quantity": "50"}, "id_r1_item", "14-inch blank is there twice"),
        ({"r1_item": "same", "r1_quantity": "60", "r0_quantity": ""}, "id_r1_quantity", "comes in packs of 25"),
        ({"supplier": ""}, "id_supplier", "Choose one."),
        ({"note": "x" * 501}, "id_note", "500 characters"),
    ],
)
def test_what_can_not_be_is_said_at_its_box_and_kept(
    client_of, assistant, engineer, item, supplier, typed, box, sentence
):
    foil = make_item(engineer, "Foil", kind="part")
    full = {"supplier": str(supplier.pk), "rows": "2", "note": "kept"} | row(0, item, "50") | row(1, foil, "2")
    full |= {name: str(item.pk) if value == "same" else value for name, value in typed.items()}
    answer = press(client_of(engineer), "draft-order", **full)
    page = answer.content.decode()
    assert answer.status_code == 422
    wrong = re.search(rf'<p class="wrong" id="{box}_error">(.*?)</p>', page)
    assert wrong, words(answer)
    assert sentence in unescape(wrong[1])
    assert "<title>Error: " in page
    assert not Order.objects.exists()


def test_a_broken_pack_is_confirmed_with_a_tick(client_of, assistant, item, supplier):
    client = client_of(assistant)
    typed = {"supplier": str(supplier.pk), "rows": "1"} | row(0, item, "60")
    page = press(client, "draft-order", **typed).content.decode()
    key = re.search(r'name="sure" value="([^"]+)"', page).group(1)
    assert press(client, "draft-order", **typed, sure=key).status_code == 302
    assert OrderLine.objects.get().quantity == 60


def test_changing_a_draft_and_a_stale_change(client_of, assistant, engineer, item, supplier):
    order = make_order(assistant, (item, 50), supplier=supplier)
    client = client_of(assistant)
    page = client.get(reverse("stock:change-order", args=[order.pk])).content.decode()
    assert 'name="r0_quantity" value="50"' in page
    assert 'name="version" value="1"' in page
    typed = {"supplier": str(supplier.pk), "rows": "1"} | row(0, item, "75")
    assert press(client, "change-order", order.pk, **typed, version="1").status_code == 302
    stale = press(client_of(engineer), "change-order", order.pk, **typed | {"r0_quantity": "100"}, version="1")
    assert stale.status_code == 422
    assert "<dt>On the order</dt><dd>75 of 14-inch blank</dd>" in words(stale)
    again = press(client_of(engineer), "change-order", order.pk, **typed | {"r0_quantity": "100"}, version="2")
    assert again.status_code == 302
    assert order.lines.get().quantity == 100
