"""Prices of what is measured: asked and told of one of the reader's unit, kept exactly, doubted far from the last."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from shop import clock
from shop.calc import units
from shop.people.models import LengthUnit, LiquidUnit, Room
from shop.refusal import Doubtful
from shop.stock import actions
from shop.stock.amounts import PRICED_BY, kept_price, price_in_words, shown_price
from shop.stock.models import Item, Lot
from shop.stock.queries import stock_worth
from tests.stock.makers import make_item, make_liquid, make_lot, make_order, make_supplier

pytestmark = pytest.mark.django_db

GALLON = Decimal("3785.411784")


@pytest.fixture
def american(engineer):
    engineer.liquid_unit, engineer.length_unit = LiquidUnit.GALLON, LengthUnit.INCH
    engineer.save()
    return engineer


def hose(by):
    return make_item(by, "Hose", kind="part", unit="mm")


def receive(client, item, **typed):
    facts = {"once": str(uuid4()), "code": "B-7", "quantity": "1", "best_before": "2030-01-31"} | typed
    return client.post(reverse("stock:receive-delivery", args=[item.pk]), facts)


@pytest.mark.parametrize(
    ("kind", "unit", "of"),
    [("liquid", "gal", 1), ("liquid", "l", 1), ("length", "in", 12), ("length", "mm", 1000), ("mass", "g", 1000)],
)
def test_a_price_is_of_so_many_stored_units_as_the_units_say(kind, unit, of):
    assert float(PRICED_BY[kind, unit][1]) == pytest.approx(units.to_stored(kind, of, unit), rel=1e-12)


@given(
    price=st.decimals(0, 999_999, places=4),
    unit=st.sampled_from([LiquidUnit.GALLON, LiquidUnit.LITRE]),
    kind=st.sampled_from(["ml", "mm", "g", "each"]),
    length=st.sampled_from([LengthUnit.INCH, LengthUnit.MM]),
)
def test_what_is_typed_comes_back_as_it_was(price, unit, kind, length):
    item, reader = Item(unit=kind), Room(liquid_unit=unit, length_unit=length)
    assert shown_price(kept_price(price, item, reader), item, reader) == price


def test_a_gallon_is_priced_by_the_gallon(american, client_of, room_row):
    item, client = make_liquid(american), client_of(american)
    page = client.get(reverse("stock:receive-delivery", args=[item.pk])).content.decode()
    assert "Price of one US gal" in page
    assert receive(client, item, unit_cost="20").status_code == 302
    lot = Lot.objects.get()
    assert lot.on_hand == 3785
    assert lot.unit_cost == (20 / GALLON).quantize(Decimal("1e-10"))
    assert "20.00 EUR a US gal" in client.get(lot.get_absolute_url()).content.decode()
    assert round(stock_worth(clock.today()).items[0].of_all.value, 2) == Decimal("20.00")
    form = client.get(reverse("stock:correct-lot", args=[lot.pk])).content.decode()
    assert 'name="unit_cost" value="20"' in form


def test_each_reads_it_in_their_own_unit(engineer):
    liquid, length, part = make_liquid(engineer), hose(engineer), make_item(engineer, "Filter", kind="part")
    metric, american = Room(), Room(liquid_unit=LiquidUnit.GALLON, length_unit=LengthUnit.INCH)
    assert price_in_words(Decimal("0.0123"), liquid, "EUR", metric) == "12.30 EUR a l"
    assert price_in_words(Decimal("0.0123"), liquid, "EUR", american) == "46.5606 EUR a US gal"
    assert price_in_words(Decimal("0.0123"), liquid, "EUR", american, rough=True) == "46.56 EUR a US gal"
    assert price_in_words(Decimal("0.01"), length, "EUR", metric) == "10.00 EUR a m"
    assert price_in_words(Decimal("0.01"), length, "EUR", american) == "3.048 EUR a ft"
    assert price_in_words(Decimal("31.5"), part, "EUR", american) == "31.50 EUR each"


def test_an_order_asks_and_keeps_it_so_too(american, client_of):
    item, supplier = make_liquid(american), make_supplier(american)
    order = make_order(american, (item, 3785, (20 / GALLON)), supplier=supplier)
    client = client_of(american)
    page = client.get(reverse("stock:change-order", args=[order.pk])).content.decode()
    assert "Price of one US gal" in page
    assert "Price each, or of one US gal, kg, ft" in page  # of the row that is open still
    assert 'name="r0_unit_cost" value="20"' in page
    assert "20.00 EUR a US gal" in client.get(order.get_absolute_url()).content.decode()
    typed = {
        "once": str(uuid4()),
        "supplier": supplier.pk,
        "r0_item": item.pk,
        "r0_quantity": "2",
        "r0_unit_cost": "25",
    }
    assert client.post(reverse("stock:draft-order"), typed).status_code == 302
    assert item.order_lines.order_by("-pk")[0].unit_cost == (25 / GALLON).quantize(Decimal("1e-10"))


# Far from the last one ------------------------------------------------------------------------------------------------


def take(by, item, price, **other):
    facts = {"code": "B-9", "quantity": 5, "unit_cost": Decimal(price)}
    return actions.receive_delivery(by=by, once=uuid4(), item=item, **facts | other)


def test_a_price_far_from_the_last_is_asked_about(engineer, assistant):
    item = make_item(engineer)
    make_lot(engineer, item, 5, code="B-1", unit_cost=Decimal(20))
    with pytest.raises(Doubtful, match=r"^101\.00 EUR each is more than five times what it cost last, 20\.00 EUR each"):
        take(engineer, item, 101)
    with pytest.raises(Doubtful, match=r"^3\.90 EUR each is less than a fifth of what it cost last") as asked:
        take(engineer, item, "3.9")
    [doubt] = asked.value.doubts
    assert (doubt.field, doubt.tick) == ("unit_cost", "It is right: 3.90 EUR each.")
    with pytest.raises(Doubtful) as of_an_assistant:
        take(assistant, item, 101)
    assert "20.00" not in of_an_assistant.value.sentence  # who is shown no prices
    assert not Lot.objects.filter(code="B-9").exists()
    assert take(engineer, item, "3.9", sure=[doubt.key]).unit_cost == Decimal("3.9")


@pytest.mark.parametrize("price", ["100", "4", "0"])
def test_one_that_is_not_is_not(engineer, price):
    item = make_item(engineer)
    make_lot(engineer, item, 5, code="B-1", unit_cost=Decimal(20))
    assert take(engineer, item, price).unit_cost == Decimal(price)


def test_the_first_price_and_one_after_a_gift_are_held_against_nothing(engineer):
    item = make_item(engineer)
    make_lot(engineer, item, 5, code="B-1", unit_cost=Decimal(0))
    make_lot(engineer, item, 5, code="B-2", unit_cost=None)
    assert take(engineer, item, 900).unit_cost == 900
