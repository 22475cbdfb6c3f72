"""One order, its sending and its paper, and its supplier's page."""

import re
from decimal import Decimal
from html import unescape
from io import BytesIO
from urllib.parse import unquote

import pypdf
import pytest
from django.urls import reverse

from shop.stock import actions, queries
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
from tests.stock.pages import press, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("march")]


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
    offered = unescape(re.search(r'href="(/[^"]+order\.txt[^"]*)"', page).group(1))
    assert body == client.get(offered).content.decode()
    assert "DRAFT" not in body
    assert body.startswith(f"Order {order.pk}\n")
    assert "Date: 3 March 2025\n" in body
    assert "Expected by 7 April 2025\n" in body
    paper = client.get(unescape(re.search(r'href="(/[^"]+order\.pdf[^"]*)"', page).group(1)))
    told = " ".join(pypdf.PdfReader(BytesIO(paper.content)).pages[0].extract_text().split())
    assert "Draft" not in told
    assert "7 April 2025" in told
    assert "Draft: not sent yet" in " ".join(
        pypdf.PdfReader(BytesIO(client.get(reverse("stock:order-pdf", args=[order.pk])).content))
        .pages[0]
        .extract_text()
        .split()
    )
    assert "once" not in link
    assert "csrf" not in link
    done = press(client, "send-order", order.pk, version="1")
    assert done.status_code == 302
    order.refresh_from_db()
    assert (order.state, order.expected_on) == ("sent", day("2025-04-07"))
    assert "is sent, expected on 7 April 2025." in words(client.get(done.url))
    assert press(client, "send-order", order.pk, version="2").status_code == 422
    assert client_of(assistant).get(reverse("stock:send-order", args=[order.pk])).status_code == 403


def test_what_is_to_go_out_has_the_days_that_were_typed(client_of, engineer, item, supplier):
    order = make_order(engineer, (item, 50), supplier=supplier)
    client = client_of(engineer)
    asked = press(client, "send-order", order.pk, version="1", sent_on="1 Mar 2025", expected_on="1 Mar 2029")
    assert asked.status_code == 422
    offered = unescape(re.search(r'href="(/[^"]+order\.txt[^"]*)"', asked.content.decode()).group(1))
    text = client.get(offered).content.decode()
    assert "Date: 1 March 2025\n" in text
    assert "Expected by 1 March 2029\n" in text
    address = reverse("stock:order-text", args=[order.pk])
    assert "Expected by 7 April" in client.get(f"{address}?going=1&sent_on=9999-12-31&expected_on=x").content.decode()
    order.refresh_from_db()
    assert order.is_draft


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
        "1. 14-inch blank\n   75 (3 packs of 25), 31.50 EUR each, 2362.50 EUR\n"
        "2. Wiping solvent\n   2.5 l, 12.00 EUR a l, 30.00 EUR\n\n"
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


def test_an_order_says_what_went_back_and_was_spoiled(client_of, engineer, item, supplier, django_assert_num_queries):
    order = make_sent(engineer, (item, 50), (make_liquid(engineer), 500), supplier=supplier)
    line = order.lines.get(item=item)
    first = receive_line(engineer, line, 13, code="B-7")
    lots = [first, receive_line(engineer, line, 2, code="B-8")]
    actions.return_stock(by=engineer, once=once(), lot=first, quantity=4, note="cracked")
    for lot in lots:
        actions.spoil_stock(by=engineer, once=once(), lot=lot, quantity=2, defect=make_defect(engineer, lot.code))
    undone = actions.spoil_stock(by=engineer, once=once(), lot=first, quantity=1, defect=make_defect(engineer, "X"))
    actions.reverse_movement(by=engineer, once=once(), movement=undone)
    page = words(client_of(engineer).get(order.get_absolute_url()))
    assert "15 came, 35 still to come, 4 went back, 4 spoiled." in page
    with django_assert_num_queries(3):
        lines = queries.lines_with_lots(order)
    assert [(one.gone.went_back, one.gone.spoiled) for one in lines] == [(4, 4), (0, 0)]


def test_an_emptied_lot_shows_no_hold(client_of, engineer, item, supplier):
    lot = make_lot(engineer, item, 2, code="B-7")
    actions.hold_lot(by=engineer, once=once(), lot=lot, why="cracked")
    assert "On hold since" in words(client_of(engineer).get(lot.get_absolute_url()))
    actions.return_stock(by=engineer, once=once(), lot=lot, quantity=2, note="all of it")
    page = words(client_of(engineer).get(lot.get_absolute_url()))
    assert "On hold since" not in page
    assert ">Release<" not in page
    assert "put on hold: cracked" in page  # on record
    assert (
        "on hold" not in words(client_of(engineer).get(reverse("stock:lots") + "?which=empty")).partition("<table")[2]
    )


def test_an_order_shows_what_came_and_who_did_what(client_of, engineer, assistant, visitor, item, supplier, at):
    order = make_sent(engineer, (item, 50, Decimal("31.5")), supplier=supplier)
    with at("2025-04-10 09:00"):
        lot = receive_line(assistant, order.lines.get(), 20, code="B-7")
        page = words(client_of(assistant).get(order.get_absolute_url()))
        assert "3 days late" in page
        assert "20 came, 30 still to come." in page
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
