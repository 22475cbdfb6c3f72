"""What stock is worth by what its lots cost, and who may see it."""

from decimal import Decimal

import pytest
from django.urls import reverse

from shop import clock
from shop.stock import actions, queries
from tests.stock.makers import day, make_item, make_liquid, make_lot, make_supplier, once, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def lots(engineer):
    item, liquid = make_item(engineer), make_liquid(engineer)
    return [
        make_lot(engineer, item, 10, code="A", unit_cost=Decimal("31.50"), supplier=make_supplier(engineer)),
        make_lot(engineer, item, 5, code="B"),
        make_lot(engineer, liquid, 2500, code="W", unit_cost=Decimal("0.0123")),
    ]


def found():
    return queries.stock_worth(clock.today())


def test_each_lot_counts_at_what_it_cost(engineer, lots):
    use(engineer, lots[0], 3)
    worth = found()
    blanks, liquid = worth.items
    assert (blanks.on_hand, blanks.of_all.value, blanks.of_all.unpriced) == (12, Decimal("220.50"), 5)
    assert blanks.of_all.mean_cost == Decimal("31.50")
    assert liquid.of_all.value == Decimal("30.7500")
    assert worth.value == Decimal("251.25")


def test_what_has_no_price_is_said_and_reckoned_by_its_fellows(engineer, lots):
    worth = found()
    assert worth.lacking == [lots[1]]
    assert worth.guessed == worth.value + 5 * Decimal("31.50")
    make_lot(engineer, make_item(engineer, "Foil", kind="part"), 4, code="F")
    assert found().guessed == worth.guessed  # nothing of it has a price: there is nothing to go by


def test_what_cannot_be_used_is_told_apart(engineer, lots):
    actions.hold_lot(by=engineer, once=once(), lot=lots[0], why="dull")
    assert (found().value, found().unusable) == (Decimal("345.75"), Decimal("315.00"))


def test_what_costs_nothing_has_a_price(engineer):
    make_lot(engineer, make_item(engineer), 10, unit_cost=Decimal(0))
    assert (found().value, found().lacking) == (0, [])


def test_two_queries_however_much_there_is(engineer, lots, django_assert_num_queries):
    with django_assert_num_queries(2):
        found()
    for number in range(10):
        make_lot(engineer, make_item(engineer, f"Part {number}", kind="part"), 2, unit_cost=Decimal(number))
    with django_assert_num_queries(2):
        assert len(found().items) == 12


def test_the_page_says_it_in_the_room_s_currency(engineer, lots, client_of, room_row):
    room_row.currency = "DKK"
    room_row.save()
    page = client_of(engineer).get(reverse("stock:worth")).content.decode()
    assert "345.75 DKK" in page
    assert "1 lot has no price and is not in it" in page
    assert "503.25 DKK" in page
    assert f'href="{lots[1].get_absolute_url()}"' in page


def test_prices_have_two_decimals_and_more_only_where_they_need_it(engineer, lots, client_of, room_row):
    make_lot(engineer, lots[0].item, 3, code="C", unit_cost=Decimal("31.14"))
    page = client_of(engineer).get(reverse("stock:worth")).content.decode()
    assert "31.42 EUR each" in page, "a mean of 31.416923, said to the hundredth"
    assert "12.30 EUR a l" in page
    assert "31.50 EUR each" in client_of(engineer).get(lots[0].get_absolute_url()).content.decode()
    assert "12.30 EUR a l" in client_of(engineer).get(lots[2].get_absolute_url()).content.decode()


def test_engineers_and_owners_see_it_and_others_do_not(owner, engineer, assistant, visitor, lots, client, client_of):
    where = reverse("stock:worth")
    for person in (owner, engineer):
        assert client_of(person).get(where).status_code == 200
        assert f'href="{where}"' in client_of(person).get(reverse("stock:items")).content.decode()
        assert client_of(person).post(where).status_code == 405
    for person in (assistant, visitor):
        assert client_of(person).get(where).status_code == 403
        assert f'href="{where}"' not in client_of(person).get(reverse("stock:items")).content.decode()
    assert client.get(where).status_code == 302


def test_an_empty_shelf_is_worth_nothing(engineer, client_of):
    assert "Nothing is on hand" in client_of(engineer).get(reverse("stock:worth")).content.decode()
    assert found().value == 0
    assert queries.stock_worth(day("1970-01-01")).items == []
