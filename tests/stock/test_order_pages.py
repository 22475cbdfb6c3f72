"""The pages of orders, of receiving on them, and of looking a lot over: what they show, and what a press does."""

import re
from decimal import Decimal
from html import unescape
from io import BytesIO
from urllib.parse import unquote
from uuid import uuid4

import pypdf
import pytest
from django.urls import reverse

from shop.stock import actions
from shop.stock.models import Inspection, Lot, Order, OrderLine
from tests.stock.makers import (
    day,
    inspect,
    make_defect,
    make_item,
    make_liquid,
    make_lot,
    make_order,
    make_sent,
    make_supplier,
    once,
    receive_line,
    send_order,
    use,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def march(room_row, at):
    with at("2025-03-03 09:00"):
        yield


@pytest.fixture
def supplier(engineer):
    return make_supplier(engineer, "Faraway Lacquer", lead_days=35, contact="orders@faraway.example")


@pytest.fixture
def item(engineer, supplier):
    item = make_item(engineer, minimum=20, supplier=supplier)
    return actions.plan_item(by=engineer, once=once(), item=item, version=1, pack_size=25, minimum_order=50)


def press(client, page, *args, **typed):
    return client.post(reverse(f"stock:{page}", args=args), {"once": str(uuid4()), **typed})


def words(answer):
    return " ".join(unescape(answer.content.decode()).split())


def row(place, item, quantity, unit_cost=""):
    return {f"r{place}_item": str(item.pk), f"r{place}_quantity": quantity, f"r{place}_unit_cost": unit_cost}


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
    page = client_of(assistant).get(reverse("stock:draft-order") + f"?supplier={supplier.pk}").content.decode()
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


def test_a_press_writes_the_draft_once(client_of, assistant, engineer, item, supplier):
    solvent = make_liquid(engineer)
    client = client_of(assistant)
    typed = {"once": str(uuid4()), "supplier": str(supplier.pk), "rows": "3", "note": "by <b>van</b>"}
    typed |= row(0, item, "75", "31,50") | row(1, solvent, "2,5") | row(2, item, "")
    address = reverse("stock:draft-order") + f"?supplier={supplier.pk}"
    answer = client.post(address, typed)
    order = Order.objects.get()
    assert answer.status_code == 302, words(answer)
    assert answer.url == order.get_absolute_url()
    assert [(line.item, line.quantity, str(line.unit_cost)) for line in order.lines.all()] == [
        (item, 75, "31.5000"),
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
    answer = press(client_of(assistant), "draft-order", **full)
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


# Sending and its paper ------------------------------------------------------------------------------------------------


def test_sending_shows_the_ways_out_and_sets_the_days(client_of, engineer, assistant, item, supplier):
    order = make_order(engineer, (item, 50, Decimal("31.5")), supplier=supplier, note="By van & before noon.")
    client = client_of(engineer)
    page = client.get(reverse("stock:send-order", args=[order.pk])).content.decode()
    assert "7 April 2025 if it is sent today" in page
    link = unescape(re.search(r'href="(mailto:[^"]+)"', page).group(1))
    to, _, query = link.partition("?")
    assert to == "mailto:orders@faraway.example"
    body = unquote(query.partition("&body=")[2]).replace("\r\n", "\n")
    assert body == client.get(reverse("stock:order-text", args=[order.pk])).content.decode()
    assert "once" not in link
    assert "csrf" not in link
    done = press(client, "send-order", order.pk, version="1")
    assert done.status_code == 302
    order.refresh_from_db()
    assert (order.state, order.expected_on) == ("sent", day("2025-04-07"))
    assert "is sent, expected on 7 April 2025." in words(client.get(done.url))
    assert press(client, "send-order", order.pk, version="2").status_code == 422
    assert client_of(assistant).get(reverse("stock:send-order", args=[order.pk])).status_code == 403


def test_a_send_of_what_was_changed_meanwhile_shows_what_it_is_now(client_of, engineer, item, supplier):
    order = make_order(engineer, (item, 50), supplier=supplier)
    line = actions.WantedLine(item, 500)
    actions.change_order(by=engineer, once=once(), order=order, version=1, supplier=supplier, lines=[line])
    stale = press(client_of(engineer), "send-order", order.pk, version="1")
    assert stale.status_code == 422
    assert "<dt>On the order</dt><dd>500 of 14-inch blank</dd>" in words(stale)
    assert press(client_of(engineer), "send-order", order.pk, version="2").status_code == 302


def test_no_mail_link_where_orders_go_by_telephone(client_of, engineer, item):
    for contact in ("ring 0123 456", "", "Orders desk <orders@x.example>", "a@b.example?bcc=c@d.example"):
        supplier = make_supplier(engineer, f"By phone {contact}"[:80], contact=contact, lead_days=3)
        order = make_order(engineer, (item, 50), supplier=supplier)
        assert "mailto:" not in client_of(engineer).get(reverse("stock:send-order", args=[order.pk])).content.decode()


def test_the_order_in_plain_text(client_of, engineer, owner, item, supplier):
    owner.liquid_unit = "gal"  # the paper speaks the room's units, whoever prints it
    owner.save()
    order = make_order(
        engineer,
        (item, 75, Decimal("31.5")),
        (make_liquid(engineer), 2500, Decimal("0.012")),
        supplier=supplier,
        note="By van, please.",
    )
    text = client_of(owner).get(reverse("stock:order-text", args=[order.pk]))
    assert text["Content-Type"] == "text/plain; charset=utf-8"
    assert text.content.decode() == (
        f"DRAFT: NOT SENT YET\nOrder {order.pk}\nFrom: Tindrum Street Cutting Room\nTo: Faraway Lacquer\n\n"
        "1. 14-inch blank\n   75 (3 packs of 25), 31.5 EUR each, 2362.50 EUR\n"
        "2. Wiping solvent\n   2.5 l, 0.012 EUR a ml, 30.00 EUR\n\n"
        "In all: 2392.50 EUR\n\nBy van, please.\n\n"
        f"Please put “Order {order.pk}” on the delivery, and the lot code on every box.\n"
    )


def test_the_order_on_one_page_of_paper(client_of, engineer, item, supplier):
    parts = [(make_item(engineer, f"Part {n:02}", kind="part"), n + 1) for n in range(23)]
    order = make_order(engineer, (item, 75, Decimal("31.5")), *parts, supplier=supplier, note="x " * 200)
    order = send_order(engineer, order)
    answer = client_of(engineer).get(reverse("stock:order-pdf", args=[order.pk]))
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(BytesIO(answer.content)).pages
    assert len(pages) == 1
    text = " ".join(pages[0].extract_text().split())
    for said in (f"Order {order.pk}", "Faraway Lacquer", "3 packs of 25", "7 April 2025", "Part 22"):
        assert said in text, said
    assert "Draft" not in text


# One order, and what follows ------------------------------------------------------------------------------------------


def test_an_order_shows_what_came_and_who_did_what(client_of, engineer, assistant, visitor, item, supplier, at):
    order = make_sent(engineer, (item, 50, Decimal("31.5")), supplier=supplier)
    with at("2025-04-10 09:00"):
        lot = receive_line(assistant, order.lines.get(), 20, code="B-7")
        page = words(client_of(assistant).get(order.get_absolute_url()))
        assert "3 days late" in page
        assert "20 came, 30 still to come. 31.5 EUR each." in page
        assert f'<a href="{lot.get_absolute_url()}">B-7</a> (10 Apr 2025)' in page
        assert "20 of 14-inch blank, lot B-7" in page
        assert reverse("stock:receive-on-order", args=[order.lines.get().pk]) in page
        assert reverse("stock:promise-anew", args=[order.pk]) in page
        assert reverse("stock:close-order-short", args=[order.pk]) not in page  # an engineer's to do
        assert reverse("stock:close-order-short", args=[order.pk]) in words(
            client_of(engineer).get(order.get_absolute_url())
        )
        looking = words(client_of(visitor).get(order.get_absolute_url()))
        assert "Receive" not in looking.partition("<h1>")[2]
        lot_page = words(client_of(visitor).get(lot.get_absolute_url()))
        assert f'on <a href="{order.get_absolute_url()}">Order {order.pk}</a>' in lot_page


def test_the_pages_of_an_order_ask_few_queries(client_of, engineer, item, supplier, django_assert_max_num_queries):
    parts = [(make_item(engineer, f"Part {n:02}", kind="part"), n + 1) for n in range(12)]
    order = make_sent(engineer, (item, 75), *parts, supplier=supplier)
    for line in order.lines.all()[:6]:
        receive_line(engineer, line, 1)
    client = client_of(engineer)
    for address in (
        order.get_absolute_url(),
        reverse("stock:expected"),
        supplier.get_absolute_url(),
        reverse("stock:draft-order") + f"?supplier={supplier.pk}",
    ):
        with django_assert_max_num_queries(12):
            assert client.get(address).status_code == 200, address


@pytest.mark.parametrize(
    ("page", "typed", "box", "sentence"),
    [
        ("promise-anew", {"why": "they rang"}, "id_expected_on", "Fill this in."),
        ("promise-anew", {"expected_on": "2025-05-01"}, "id_why", "Fill this in."),
        ("promise-anew", {"expected_on": "soon", "why": "x"}, "id_expected_on", "not a day"),
        ("promise-anew", {"expected_on": "2025-03-02", "why": "x"}, "id_expected_on", "gone by"),
        ("promise-anew", {"expected_on": "2025-04-07", "why": "x"}, "id_expected_on", "expected already"),
        ("close-order-short", {"why": " "}, "id_why", "Fill this in."),
    ],
)
def test_what_can_not_follow_is_said_at_its_box(client_of, engineer, item, supplier, page, typed, box, sentence):
    order = make_sent(engineer, (item, 50), supplier=supplier)
    answer = press(client_of(engineer), page, order.pk, **typed)
    assert answer.status_code == 422
    wrong = re.search(rf'<p class="wrong" id="{box}_error">(.*?)</p>', answer.content.decode())
    assert wrong
    assert sentence in unescape(wrong[1])
    order.refresh_from_db()
    assert (order.state, order.expected_on) == ("sent", day("2025-04-07"))


def test_a_new_day_a_close_and_a_drop(client_of, engineer, item, supplier):
    client = client_of(engineer)
    order = make_sent(engineer, (item, 50), supplier=supplier)
    done = press(client, "promise-anew", order.pk, expected_on="2025-05-01", why="they rang")
    assert "is now expected on 1 May 2025." in words(client.get(done.url))
    done = press(client, "close-order-short", order.pk, why="gave it up")
    assert "Nothing more is expected on it." in words(client.get(done.url))
    assert "Closed short" in words(client.get(done.url))
    draft = make_order(engineer, (item, 50), supplier=supplier)
    done = press(client, "drop-order", draft.pk)
    assert "is dropped. It stays on record." in words(client.get(done.url))


def test_a_page_whose_form_could_only_be_refused_shows_none(client_of, engineer, item, supplier):
    client = client_of(engineer)
    draft = make_order(engineer, (item, 50), supplier=supplier)
    sent = make_sent(engineer, (item, 50), supplier=supplier)
    empty = make_order(engineer, supplier=supplier)
    closed = make_sent(engineer, (item, 50), supplier=supplier)
    actions.close_order_short(by=engineer, once=once(), order=closed, why="enough")
    lot = make_lot(engineer, item, 1)
    use(engineer, lot, 1)
    for name, pk, said in (
        ("change-order", sent.pk, "it is no draft any more"),
        ("send-order", sent.pk, "it is no draft any more"),
        ("drop-order", sent.pk, "it is no draft any more"),
        ("send-order", empty.pk, "Nothing is on this order yet."),
        ("promise-anew", draft.pk, "was not sent yet"),
        ("close-order-short", draft.pk, "was not sent yet"),
        ("receive-on-order", draft.lines.get().pk, "was not sent yet"),
        ("receive-on-order", closed.lines.get().pk, "is closed: nothing more is expected on it."),
        ("inspect-lot", lot.pk, "There is nothing left in lot"),
    ):
        main = words(client.get(reverse(f"stock:{name}", args=[pk]))).partition("<main")[2]
        assert said in main, name
        assert 'name="once"' not in main, name
        assert '<p class="actions"><a class="button"' in main, name


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


def test_nothing_expected_says_what_to_do(client_of, assistant, room_row):
    page = words(client_of(assistant).get(reverse("stock:expected")))
    assert "Nothing is on its way." in page
    assert reverse("stock:items") in page


def test_receiving_a_line_makes_the_lot_and_offers_to_look_it_over(client_of, assistant, engineer, item, supplier):
    order = make_sent(engineer, (item, 50, Decimal("31.5")), supplier=supplier)
    line = order.lines.get()
    client = client_of(assistant)
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
    assert (lot.on_hand, str(lot.unit_cost), lot.order_line) == (20, "32.0000", line)
    page = words(client.get(done.url))
    assert f"Received 20 of 14-inch blank as lot B-7. 30 still to come on order {order.pk}." in page
    assert f'<a class="button" href="{reverse("stock:inspect-lot", args=[lot.pk])}">Look it over</a>' in page
    assert ">30 still to come of 50 ordered<" in client.get(address).content.decode()


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
    assert "checked" in re.search(r'<input[^>]*name="write_off"[^>]*>', page)[0]
    assert "50 on hand in lot B-7" in page
    typed = {"looked_at": "10", f"found_{pinholes.pk}": "2", f"found_{warped.pk}": "", "outcome": "accept"}
    done = press(client, "inspect-lot", lot.pk, **typed, write_off="on")
    assert done.url == lot.get_absolute_url()
    page = words(client.get(done.url))
    assert "10 looked at, 2 faulty. Lot B-7 may be used." in page
    assert "10 looked at, 2 faulty: pinholes 2." in page
    assert '<a class="button" href' in page
    assert "Look it over</a>" in page
    lot.refresh_from_db()
    assert lot.on_hand == 48
    left = press(client, "inspect-lot", lot.pk, **typed)
    assert "pinholes 2 (left in the lot)" in words(client.get(left.url))
    lot.refresh_from_db()
    assert lot.on_hand == 48


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


# A supplier -----------------------------------------------------------------------------------------------------------


def test_a_supplier_says_what_was_promised_and_what_was_learned(client_of, engineer, visitor, item, supplier, at):
    page = words(client_of(visitor).get(supplier.get_absolute_url()))
    assert "The promise is 35 days." in page
    assert "None was sent to this supplier yet, so its promise stands in" in page
    assert "Draft an order" not in page
    for _ in range(2):
        order = make_sent(engineer, (item, 50), supplier=supplier)
        with at("2025-04-20 09:00"):
            receive_line(engineer, order.lines.get(), 50)
    with at("2025-04-21 09:00"):
        make_sent(engineer, (item, 50), supplier=supplier)
    with at("2025-05-01 09:00"):
        page = words(client_of(engineer).get(supplier.get_absolute_url()))
        assert "Learned from 2 orders that came and 1 that has not, counted as longer than so far." in page
        assert "the supplier's promise still counts with them" in page
        assert "10 so far" in page
        assert f'href="{reverse("stock:draft-order")}?supplier={supplier.pk}"' in page
        assert f'<a href="{item.get_absolute_url()}">14-inch blank</a>' in page
        assert len(re.findall(r'">Order \d+</a></td>', page)) == 6  # three in each of its two tables


def test_the_list_of_suppliers_leads_to_each(client_of, visitor, supplier):
    page = words(client_of(visitor).get(reverse("stock:suppliers")))
    assert f'<a href="{supplier.get_absolute_url()}">Faraway Lacquer</a>' in page


def test_a_lot_looked_over_tells_of_what_was_undone(client_of, assistant, engineer, item):
    lot = make_lot(engineer, item, 50)
    found = inspect(assistant, lot, 10, "accept", (make_defect(engineer, "Pinholes"), 2))
    actions.reverse_movement(by=assistant, once=once(), movement=found.found.get().movement)
    assert "pinholes 2 (written off, undone since)" in words(client_of(assistant).get(lot.get_absolute_url()))
