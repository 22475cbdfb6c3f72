"""The pages of stock: that each shows, and to whom."""

import re
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.stock.models import Movement

pytestmark = pytest.mark.django_db


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
