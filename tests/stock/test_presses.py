"""What a press of each page of stock does."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from shop import clock
from shop.stock.models import Defect, Item, Lot, Movement, Supplier
from tests.stock.makers import make_defect, make_item, make_liquid, make_lot, use

pytestmark = pytest.mark.django_db


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
    assert (lot.on_hand, str(lot.unit_cost), lot.last_day.isoformat()) == (12, "14.5000000000", "2030-01-31")
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
        ({"supplier": "77"}, "not on the list"),
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


def test_the_use_page_shown_from_history_takes_no_second_one_unasked(client_of, assistant, engineer):
    """Without script a page that one goes back to is made anew, with a token that was never used."""
    lot = make_lot(engineer, make_item(engineer), 10)
    client = client_of(assistant)
    assert press(client, "use-stock", lot.pk, quantity="1").status_code == 302
    asked = press(client, "use-stock", lot.pk, quantity="1")
    assert asked.status_code == 422
    assert "already. Is this another?" in asked.content.decode()
    lot.refresh_from_db()
    assert lot.on_hand == 9
    [doubt] = asked.context["form"].doubts
    assert press(client, "use-stock", lot.pk, quantity="1", sure=doubt.key).status_code == 302


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
    assert "Take another lot: only an engineer may overrule that." in refused.content.decode()
    unsaid = press(client_of(engineer), "use-stock", held, quantity="1", overrule=" ")
    assert unsaid.status_code == 422
    assert "A1 should go first" not in unsaid.content.decode(), "one that is not fit to use has no turn"
    done = press(client_of(engineer), "use-stock", held, quantity="1", overrule="rehearsal")
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
    unsaid = press(client, "release-lot", lot.pk, note=" ")
    assert unsaid.status_code == 422
    assert "note" in unsaid.context["form"].errors
    assert press(client, "release-lot", lot.pk, note="clean under the lamp").status_code == 302
    assert press(client, "release-lot", lot.pk, note="again").status_code == 422
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
    told = {"name": "Nowhere Coatings", "lead_days": "90", "lead_note": "late in winter", "contact": "orders@n.example"}
    assert press(client, "add-supplier", **told).status_code == 302
    supplier = Supplier.objects.get()
    assert (supplier.lead_note, supplier.contact) == ("late in winter", "orders@n.example")
    assert press(client, "change-supplier", supplier.pk, name="Nowhere Coatings", version="1").status_code == 302
    supplier.refresh_from_db()
    assert not supplier.is_active
    assert press(client, "add-defect", name="Ripple").status_code == 302
    defect = Defect.objects.get()
    assert press(client, "change-defect", defect.pk, name="Ripples", version="1", is_active="on").status_code == 302
    defect.refresh_from_db()
    assert defect.name == "Ripples"
