"""The lists of stock: narrowed, leafed through, and asked for in few queries."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from shop import clock
from shop.stock import actions
from shop.stock.models import Movement
from tests.stock.makers import make_defect, make_item, make_liquid, make_lot, make_supplier, use

pytestmark = pytest.mark.django_db


def test_the_ledger_narrows_and_leafs(client_of, engineer, assistant):
    item, other = make_item(engineer), make_liquid(engineer)
    lot, bottle = make_lot(engineer, item, 500), make_lot(engineer, other, 500)
    start = clock.now()
    for minute in range(130):
        with clock.moved(start + timedelta(minutes=minute)):
            use(assistant if minute % 2 else engineer, lot, note=f"minute {minute}")
    with clock.moved(start + timedelta(days=1, hours=5)):
        use(engineer, bottle, 5)
        client = client_of(engineer)

        def ids(query=""):
            text = client.get(reverse("stock:ledger") + query).content.decode()
            older = re.search(r'rel="next" href="([^"]+)"', text)
            newer = re.search(r'rel="prev" href="([^"]+)"', text)
            rows = [int(n) for n in re.findall(r'id="movement-(\d+)"', text)]
            return rows, older and older.group(1).replace("&amp;", "&"), newer and newer.group(1).replace("&amp;", "&")

        seen, page, older = [], *ids()[:2]
        seen += page
        while older:
            page, older, newer = ids(older)
            seen += page
        expected = list(Movement.objects.order_by("-at", "-id").values_list("pk", flat=True))
        assert seen == expected
        back = ids(newer)[0]
        assert back == expected[50:100]
        assert len(ids(f"?item={other.pk}")[0]) == 2
        assert len(ids("?kind=received")[0]) == 2
        assert set(ids(f"?by={assistant.pk}")[0]) <= set(
            Movement.objects.filter(by=assistant).values_list("pk", flat=True)
        )
        today = clock.today().isoformat()
        assert len(ids(f"?since={today}")[0]) == 1
        assert len(ids(f"?until={today}&kind=received")[0]) == 2
        for nonsense in ("?from=o1", "?from=o9-9-9", "?from=%00", "?from=o99999999999999999-1", "?since=x&by=y&item=0"):
            assert client.get(reverse("stock:ledger") + nonsense).status_code == 200


def test_an_empty_ledger_says_what_to_do_first(client_of, engineer, visitor):
    address = reverse("stock:ledger")
    page = client_of(engineer).get(address).content.decode()
    assert "Nothing has moved yet." in page
    assert f'<a href="{reverse("stock:items")}">on hand</a> and enter a delivery' in page
    assert "No movement fits that" not in page
    assert "enter a delivery" not in client_of(visitor).get(address).content.decode()
    assert "No movement fits that." in client_of(engineer).get(address + "?kind=used").content.decode()


def test_the_ledger_of_a_lot_leafs(client_of, engineer):
    lot = make_lot(engineer, make_item(engineer), 500)
    for number in range(30):
        use(engineer, lot, note=f"take {number}")
    client = client_of(engineer)
    text = client.get(lot.get_absolute_url()).content.decode()
    older = re.search(r'rel="next" href="([^"]+)"', text).group(1)
    assert text.count('id="movement-') == 15
    assert client.get(lot.get_absolute_url() + older).content.decode().count('id="movement-') == 15


def test_items_narrow(client_of, engineer):
    make_item(engineer, "Alpha blank")
    make_liquid(engineer, "Beta liquid")
    client = client_of(engineer)

    def shown(query):
        text = client.get(reverse("stock:items") + query).content.decode()
        return {name for name in ("Alpha blank", "Beta liquid") if name in text}

    assert shown("") == {"Alpha blank", "Beta liquid"}
    assert shown("?name=beta") == {"Beta liquid"}
    assert shown("?kind=blank") == {"Alpha blank"}
    assert shown("?kept=gone") == set()


def test_a_list_asks_the_database_as_often_for_200_rows_as_for_10(
    client_of, engineer, django_assert_max_num_queries, django_assert_num_queries
):
    item = make_item(engineer, minimum=3)
    watched = make_lot(engineer, item, 5, code="watched")

    def grow(to):
        for n in range(to):
            make_item(engineer, f"Part {to} {n}", kind="part", minimum=1)
            make_supplier(engineer, f"Supplier {to} {n}")
            make_defect(engineer, f"Defect {to} {n}")
            lot = make_lot(engineer, item, 2, code=f"{to}-{n}")
            if n % 3 == 0:
                actions.return_stock(by=engineer, once=uuid4(), lot=lot, quantity=2)
            actions.count_lot(by=engineer, once=uuid4(), lot=watched, counted=5)

    grow(10)
    client = client_of(engineer)
    lists = [reverse(f"stock:{name}") for name in ("items", "lots", "ledger", "suppliers", "defects")]
    single = [item.get_absolute_url(), watched.get_absolute_url()]  # with what the log says of them
    asked = {}
    for address in [*lists, *single]:
        client.get(address)
        with django_assert_max_num_queries(12 if address in lists else 13) as few:
            client.get(address)
        asked[address] = len(few.captured_queries)
    grow(190)
    for address in [*lists, *single]:
        with django_assert_num_queries(asked[address]):
            client.get(address)
