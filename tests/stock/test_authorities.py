"""Sending orders and taking stock off hold: by role as long as no authority is kept, by authority from then on."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.people.starter import load_starter
from shop.refusal import NotAllowed, Refused
from shop.stock import actions
from shop.stock.models import OrderState
from shop.training.models import Act
from tests.stock.makers import make_item, make_lot, make_order, make_supplier, send_order
from tests.training.makers import give


@pytest.fixture
def order(engineer):
    supplier = make_supplier(engineer, lead_days=5)
    return make_order(engineer, (make_item(engineer, supplier=supplier), 10), supplier=supplier)


@pytest.fixture
def held(engineer):
    lot = make_lot(engineer, make_item(engineer, "Spare blank"))
    return actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="dull in one corner")


def act(slug):
    load_starter()
    return Act.objects.get(slug=slug)


def ways(order, held):
    """The page of each, and the one that its button is on."""
    return [
        (reverse("stock:send-order", args=[order.pk]), order.get_absolute_url()),
        (reverse("stock:release-lot", args=[held.pk]), held.get_absolute_url()),
    ]


def test_while_none_is_kept_they_are_for_engineers(assistant, order, held, client_of):
    with pytest.raises(NotAllowed):
        send_order(assistant, order)
    with pytest.raises(NotAllowed):
        actions.release_lot(by=assistant, once=uuid4(), lot=held, note="clean")
    client = client_of(assistant)
    for address, page in ways(order, held):
        assert client.get(address).status_code == 403
        assert client.post(address, {"once": uuid4(), "note": "clean", "version": 1}).status_code == 403
        assert address not in client.get(page).content.decode()


def test_an_assistant_who_holds_it_does_it_alone(owner, assistant, order, held, client_of):
    for slug in ("order", "release-lot"):
        give(owner, act(slug), assistant)
        assert "You may do it alone." in client_of(assistant).get(act(slug).get_absolute_url()).content.decode()
    client = client_of(assistant)
    for address, page in ways(order, held):
        assert address in client.get(page).content.decode()
        assert "under" not in client.get(address).context["form"].fields
        assert client.post(address, {"once": uuid4(), "note": "clean", "version": 1}).status_code == 302
    order.refresh_from_db()
    held.refresh_from_db()
    assert order.state == OrderState.SENT
    assert not held.is_held


def test_one_who_does_not_hold_it_is_asked_under_whose_eye(owner, engineer, assistant, visitor, order, held, client_of):
    for slug in ("order", "release-lot"):
        give(owner, act(slug), engineer)
    for address, page in ways(order, held):
        assert client_of(visitor).get(address).status_code == 403
        assert address not in client_of(visitor).get(page).content.decode()
        assert "under" in client_of(assistant).get(address).context["form"].fields
    with pytest.raises(Refused) as no:
        send_order(assistant, order)
    assert no.value.field == "under"
    with pytest.raises(NotAllowed):
        send_order(visitor, order, under=engineer)
    send_order(assistant, order, under=engineer)
    actions.release_lot(by=assistant, once=uuid4(), lot=held, note="clean", under=engineer)
    order.refresh_from_db()
    held.refresh_from_db()
    assert order.state == OrderState.SENT
    assert not held.is_held
