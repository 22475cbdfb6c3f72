"""The pages of stock: that each shows, to whom, and what a press of each does."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from shop import clock
from shop.stock import actions
from shop.stock.models import Defect, Item, Lot, Movement, Supplier
from tests.stock.makers import make_defect, make_item, make_liquid, make_lot, make_supplier, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def stocked(engineer):
    """An item with a usable, a held and an empty lot, and one of each other thing that has a page."""
    supplier = make_supplier(engineer)
    item = make_item(engineer, supplier=supplier, minimum=4)
    lot = make_lot(engineer, item, 10, code="A1", supplier=supplier, best_before=clock.today() + timedelta(days=20))
    held = make_lot(engineer, item, 3, code="A2")
    actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="dull")
    empty = make_lot(engineer, item, 1, code="A0")
    actions.spoil_stock(by=engineer, once=uuid4(), lot=empty, quantity=1, defect=make_defect(engineer))
    return {"item": item, "lot": lot, "held": held, "supplier": supplier, "defect": Defect.objects.get()}


def addresses(stocked):
    item, lot, held = stocked["item"].pk, stocked["lot"].pk, stocked["held"].pk
    movement = Movement.objects.filter(lot=lot).get().pk
    reading = [
        reverse("stock:items"),
        reverse("stock:item", args=[item]),
        reverse("stock:lot", args=[lot]),
        reverse("stock:ledger"),
        reverse("stock:suppliers"),
        reverse("stock:defects"),
    ]
    by_hands = [
        *(reverse(f"stock:{name}", args=[lot]) for name in HANDS_ON_A_LOT),
        reverse("stock:receive-delivery", args=[item]),
        reverse("stock:reverse-movement", args=[movement]),
    ]
    by_engineers = [
        reverse("stock:hold-lot", args=[lot]),
        reverse("stock:release-lot", args=[held]),
        reverse("stock:correct-lot", args=[lot]),
        reverse("stock:add-item"),
        reverse("stock:change-item", args=[item]),
        reverse("stock:add-supplier"),
        reverse("stock:change-supplier", args=[stocked["supplier"].pk]),
        reverse("stock:add-defect"),
        reverse("stock:change-defect", args=[stocked["defect"].pk]),
    ]
    return reading, by_hands, by_engineers


HANDS_ON_A_LOT = ("use-stock", "test-stock", "spoil-stock", "return-stock", "count-lot")


def test_every_page_shows_to_whom_it_should(stocked, client_of, owner, engineer, assistant, visitor):
    reading, by_hands, by_engineers = addresses(stocked)
    allowed = {
        owner: [*reading, *by_hands, *by_engineers],
        engineer: [*reading, *by_hands, *by_engineers],
        assistant: [*reading, *by_hands],
        visitor: reading,
    }
    for person, open_to in allowed.items():
        client = client_of(person)
        for address in [*reading, *by_hands, *by_engineers]:
            response = client.get(address)
            assert response.status_code == (200 if address in open_to else 403), (person.role, address)
            if response.status_code == 200:
                text = response.content.decode()
                assert text.count("<h1") == 1, address
                assert "style=" not in text, address


def test_a_stranger_is_sent_to_sign_in(stocked, client):
    for address in [a for group in addresses(stocked) for a in group]:
        response = client.get(address)
        assert response.status_code == 302, address
        assert response.url.startswith(reverse("people:sign-in"))


def test_the_wrong_method(stocked, client_of, engineer):
    reading, *writing = addresses(stocked)
    client = client_of(engineer)
    for address in reading:
        assert client.post(address).status_code == 405, address
    for address in [a for group in writing for a in group]:
        assert client.delete(address).status_code == 405, address
        assert client.put(address).status_code == 405, address


def test_a_visitor_presses_nothing(stocked, client_of, visitor):
    before = Movement.objects.count()
    _, *writing = addresses(stocked)
    client = client_of(visitor)
    for address in [a for group in writing for a in group]:
        assert client.post(address, {"once": uuid4(), "quantity": "1"}).status_code == 403, address
    assert Movement.objects.count() == before


def test_buttons_that_would_be_refused_are_not_shown(stocked, client_of, engineer, assistant, visitor):
    def links(person, address):
        return set(re.findall(r'href="([^"]+)"', client_of(person).get(address).content.decode()))

    lot = stocked["lot"].get_absolute_url()
    use_it, hold_it = (
        reverse("stock:use-stock", args=[stocked["lot"].pk]),
        reverse("stock:hold-lot", args=[stocked["lot"].pk]),
    )
    assert {use_it, hold_it} <= links(engineer, lot)
    assert use_it in links(assistant, lot)
    assert hold_it not in links(assistant, lot)
    assert use_it not in links(visitor, lot)
    for address in ("stock:items", "stock:suppliers", "stock:defects"):
        added = {a for a in links(assistant, reverse(address)) if a.endswith("/add/")}
        assert not added
    movement = Movement.objects.filter(lot=stocked["lot"]).get()
    undo = reverse("stock:reverse-movement", args=[movement.pk])
    assert undo in links(assistant, reverse("stock:ledger"))
    assert undo not in links(visitor, reverse("stock:ledger"))


# A press of each ------------------------------------------------------------------------------------------------------


def press(client, page, *args, **typed):
    return client.post(reverse(f"stock:{page}", args=args), {"once": str(uuid4()), **typed})


def test_receive_a_delivery(client_of, assistant, engineer):
    item = make_item(engineer)
    client = client_of(assistant)
    typed = {"once": str(uuid4()), "code": "B-7", "quantity": "12", "best_before": "2030-01-31", "unit_cost": "14,50"}
    address = reverse("stock:receive-delivery", args=[item.pk])
    response = client.post(address, typed)
    lot = Lot.objects.get()
    assert response.status_code == 302
    assert response.url == lot.get_absolute_url()
    assert (lot.on_hand, str(lot.unit_cost), lot.last_day.isoformat()) == (12, "14.5000", "2030-01-31")
    assert client.post(address, typed).url == lot.get_absolute_url()
    assert Movement.objects.count() == 1
    assert "Received 12 of 14-inch blank as lot B-7." in client.get(response.url).content.decode()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"quantity": "none"}, "not a number"),
        ({"quantity": "1,234"}, "1234, or 1.234?"),
        ({"quantity": "2.5"}, "whole number"),
        ({"quantity": "0"}, "below 1"),
        ({"quantity": "99999999999999999999"}, "too large"),
        ({"quantity": "2000000"}, "above 1\u202f000\u202f000"),
        ({"quantity": "3 kg"}, "plain number"),
        ({"received_on": "2999-01-01"}, "in the future"),
        ({"received_on": "yesterday"}, "not a day"),
        ({"made_on": "2024-05-02", "best_before": "2024-05-01"}, "before it was made"),
        ({"best_before": "2001-05-01"}, "past it on arrival"),
        ({"code": "x" * 61}, "60 characters"),
        ({"code": " "}, "required"),
        ({"unit_cost": "-1"}, "below 0"),
        ({"supplier": "77"}, "valid choice"),
        ({"once": ""}, "one-time token"),
        ({"once": "stolen"}, ""),
    ],
)
def test_what_can_not_be_received_is_refused_at_its_field_and_kept(client_of, engineer, typed, sentence):
    item = make_item(engineer)
    full = {"once": str(uuid4()), "code": "B-8", "quantity": "12", "note": "left at the <b>door</b>"} | typed
    response = client_of(engineer).post(reverse("stock:receive-delivery", args=[item.pk]), full)
    text = response.content.decode()
    assert response.status_code == 422
    assert sentence in text
    assert "<title>Error: " in text
    assert "left at the &lt;b&gt;door&lt;/b&gt;" in text
    assert not Lot.objects.exists()


@pytest.mark.parametrize(
    ("name", "kind", "change"),
    [
        ("use-stock", "used", -2),
        ("test-stock", "tested", -2),
        ("spoil-stock", "spoiled", -2),
        ("return-stock", "returned", -2),
    ],
)
def test_take_something_out(client_of, assistant, engineer, name, kind, change):
    lot = make_lot(engineer, make_item(engineer), 10)
    defect = make_defect(engineer)
    client = client_of(assistant)
    typed = {"once": str(uuid4()), "quantity": "2", "note": "<script>x</script>", "defect": defect.pk}
    address = reverse(f"stock:{name}", args=[lot.pk])
    response = client.post(address, typed)
    assert response.status_code == 302, response.content.decode()
    client.post(address, typed)
    movement = Movement.objects.exclude(kind="received").get()
    assert (movement.kind, movement.change, movement.by) == (kind, change, assistant)
    page = client.get(response.url).content.decode()
    assert "&lt;script&gt;x&lt;/script&gt;" in page
    assert "<script>x" not in page


def test_the_last_gone_meanwhile_is_said_at_the_field(client_of, assistant, engineer):
    lot = make_lot(engineer, make_item(engineer), 1, code="B9")
    use(engineer, lot)
    response = press(client_of(assistant), "use-stock", lot.pk, quantity="1", note="mine")
    assert response.status_code == 422
    assert "There are none left in lot B9" in response.content.decode()
    assert 'value="mine"' in response.content.decode()


def test_a_time_in_the_future_is_refused_at_the_field(client_of, engineer):
    lot = make_lot(engineer, make_item(engineer), 5)
    client = client_of(engineer)
    for at in ("2999-01-01T08:00", "9999-12-31T23:59"):
        response = press(client, "use-stock", lot.pk, quantity="1", at=at)
        assert response.status_code == 422
        assert "in the future" in response.content.decode()
    assert press(client, "use-stock", lot.pk, quantity="1", at="0001-01-01T00:00").status_code == 422
    assert press(client, "use-stock", lot.pk, quantity="1", at="soon").status_code == 422
    assert Movement.objects.count() == 1


def test_a_held_lot_offers_an_engineer_the_reason_and_an_assistant_none(stocked, client_of, engineer, assistant):
    held = stocked["held"].pk
    address = reverse("stock:use-stock", args=[held])
    assert 'name="overrule"' in client_of(engineer).get(address).content.decode()
    assert 'name="overrule"' not in client_of(assistant).get(address).content.decode()
    refused = press(client_of(assistant), "use-stock", held, quantity="1", overrule="so there")
    assert "Only an engineer may overrule that" in refused.content.decode()
    asked = press(client_of(engineer), "use-stock", held, quantity="1", overrule="rehearsal")
    assert "A1 should go first" in asked.content.decode()
    key = re.search(r'name="sure" value="([^"]+)"', asked.content.decode()).group(1)
    done = press(client_of(engineer), "use-stock", held, quantity="1", overrule="rehearsal", sure=key)
    assert done.status_code == 302
    assert "Overruled: rehearsal" in client_of(engineer).get(reverse("stock:lot", args=[held])).content.decode()


def test_liquids_are_typed_and_shown_in_the_reader_s_unit(client_of, engineer, owner):
    owner.liquid_unit = "gal"
    owner.save()
    item = make_liquid(engineer, minimum=500)
    assert press(client_of(owner), "receive-delivery", item.pk, code="S1", quantity="1").status_code == 302
    assert press(client_of(engineer), "receive-delivery", item.pk, code="S2", quantity="0,505").status_code == 302
    assert press(client_of(engineer), "receive-delivery", item.pk, code="S3", quantity="40 ml").status_code == 302
    assert dict(Lot.objects.values_list("code", "on_hand")) == {"S1": 3785, "S2": 505, "S3": 40}
    page = client_of(engineer).get(item.get_absolute_url()).content.decode()
    assert "4.33\u00a0l" in page
    assert "505\u00a0ml" in page
    assert "1.144\u00a0US gal" in client_of(owner).get(item.get_absolute_url()).content.decode()
    nothing = press(client_of(engineer), "receive-delivery", item.pk, code="S4", quantity="0.2 ml")
    assert nothing.status_code == 422


def test_counting_in_gallons_what_shows_the_same_is_the_same(client_of, engineer, owner):
    owner.liquid_unit = "gal"
    owner.save()
    lot = make_lot(engineer, make_liquid(engineer), 3786)
    response = press(client_of(owner), "count-lot", lot.pk, counted="1.000", expected="3786")
    assert response.status_code == 302
    assert Movement.objects.latest("id").change == 0


def test_undo_is_at_hand_for_ten_minutes_and_possible_later(client_of, assistant, engineer):
    lot = make_lot(engineer, make_item(engineer), 5)
    movement = use(assistant, lot)
    undo = reverse("stock:reverse-movement", args=[movement.pk])
    client = client_of(assistant)
    page = client.get(lot.get_absolute_url()).content.decode()
    assert f'action="{undo}"' in page
    with clock.moved(clock.now() + timedelta(minutes=11)):
        page = client.get(lot.get_absolute_url()).content.decode()
        assert f'action="{undo}"' not in page
        assert f'href="{undo}"' in page
        response = client.post(undo, {"once": str(uuid4())})
    assert response.status_code == 302
    lot.refresh_from_db()
    assert lot.on_hand == 5
    again = client.post(undo, {"once": str(uuid4())})
    assert again.status_code == 422
    assert "undone already" in again.content.decode()


def test_hold_and_release(client_of, engineer):
    lot = make_lot(engineer, make_item(engineer), 5)
    client = client_of(engineer)
    assert press(client, "hold-lot", lot.pk, why=" ").status_code == 422
    assert press(client, "hold-lot", lot.pk, why="specks").status_code == 302
    assert "specks" in client.get(lot.get_absolute_url()).content.decode()
    assert press(client, "hold-lot", lot.pk, why="specks").status_code == 422
    assert press(client, "release-lot", lot.pk, note="clean under the lamp").status_code == 302
    assert press(client, "release-lot", lot.pk).status_code == 422
    assert [r.kind for r in lot.remarks.all()] == ["released", "held"]


def test_put_a_lot_right(client_of, engineer, assistant):
    lot = make_lot(engineer, make_item(engineer, shelf_days=100), 5, code="B1")
    client = client_of(engineer)
    typed = {"version": "1", "code": "B1", "best_before": "2031-02-03", "why": "misread the box"}
    assert press(client, "correct-lot", lot.pk, **typed).status_code == 302
    lot.refresh_from_db()
    assert lot.last_day.isoformat() == "2031-02-03"
    assert "best before none → 3 February 2031. misread the box" in client.get(lot.get_absolute_url()).content.decode()
    stale = press(client, "correct-lot", lot.pk, **typed | {"code": "B2"})
    assert stale.status_code == 422
    assert "changed this while your form was open" in stale.content.decode()


def test_keep_an_item_a_supplier_and_a_defect(client_of, engineer):
    client = client_of(engineer)
    typed = {
        "name": "<i>Blank</i>",
        "kind": "blank",
        "blank_in": "12",
        "unit": "each",
        "minimum": "5",
        "warn_days": "30",
    }
    assert press(client, "add-item", **typed).status_code == 302
    item = Item.objects.get()
    assert "&lt;i&gt;Blank&lt;/i&gt;" in client.get(reverse("stock:items")).content.decode()
    assert press(client, "add-item", **typed).status_code == 422
    changed = typed | {"minimum": "7", "version": "1", "is_active": "on", "shelf_days": "365"}
    assert press(client, "change-item", item.pk, **changed).status_code == 302
    item.refresh_from_db()
    assert (item.minimum, item.shelf_days, item.version) == (7, 365, 2)
    assert press(client, "change-item", item.pk, **changed).status_code == 422
    assert press(client, "add-supplier", name="Nowhere Coatings", lead_days="90").status_code == 302
    supplier = Supplier.objects.get()
    assert press(client, "change-supplier", supplier.pk, name="Nowhere Coatings", version="1").status_code == 302
    supplier.refresh_from_db()
    assert not supplier.is_active
    assert press(client, "add-defect", name="Ripple").status_code == 302
    defect = Defect.objects.get()
    assert press(client, "change-defect", defect.pk, name="Ripples", version="1", is_active="on").status_code == 302
    defect.refresh_from_db()
    assert defect.name == "Ripples"


# Lists ----------------------------------------------------------------------------------------------------------------


def test_the_ledger_narrows_and_leafs(client_of, engineer, assistant):
    item, other = make_item(engineer), make_liquid(engineer)
    lot, bottle = make_lot(engineer, item, 500), make_lot(engineer, other, 500)
    start = clock.now()
    for minute in range(130):
        with clock.moved(start + timedelta(minutes=minute)):
            use(assistant if minute % 2 else engineer, lot)
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


def test_the_ledger_of_a_lot_leafs(client_of, engineer):
    lot = make_lot(engineer, make_item(engineer), 500)
    for _ in range(30):
        use(engineer, lot)
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
    lists = [reverse(f"stock:{name}") for name in ("items", "ledger", "suppliers", "defects")]
    lists += [item.get_absolute_url(), watched.get_absolute_url()]
    asked = {}
    for address in lists:
        client.get(address)
        with django_assert_max_num_queries(12) as few:
            client.get(address)
        asked[address] = len(few.captured_queries)
    grow(190)
    for address in lists:
        with django_assert_num_queries(asked[address]):
            client.get(address)
