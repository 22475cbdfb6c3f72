"""What is entered later than it happened: the ledger says in which order its balances run, and gives no hour that
nobody knows."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from shop import clock
from tests.stock.makers import day, make_item, make_lot, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(engineer, client_of):
    browser = client_of(engineer)

    def read(address):
        text = re.sub(r"<[^>]+>", " ", browser.get(address).content.decode())
        return " ".join(text.replace("\u00a0", " ").split())

    return read


def balances(browser, address):
    page = browser.get(address).content.decode()
    return re.findall(r'data-label="(Left[^"]*)"[^>]*>([^<]*)<', page)


def test_the_ledger_says_that_balances_run_in_the_order_of_entry(engineer, client_of, at):
    with at("2025-03-03 09:00"):
        lot = make_lot(engineer, make_item(engineer), 5)
    with at("2025-03-03 12:00"):
        use(engineer, lot)
        use(engineer, lot, at=clock.now() - timedelta(hours=2))  # entered after, happened before
        browser = client_of(engineer)
        assert balances(browser, reverse("stock:ledger")) == [("Left once entered", n) for n in ("4", "3", "5")]
        assert balances(browser, lot.get_absolute_url()) == [("Left in lot", n) for n in ("3", "4", "5")]


def test_what_came_in_on_an_earlier_day_has_that_day_and_no_hour(engineer, page, at):
    with at("2025-03-03 09:00"):
        lot = make_lot(engineer, make_item(engineer), 5, received_on=day("2025-02-27"))
        assert "Received on 27 February 2025 by Edvin Maarsk. Was that a mistake?" in page(lot.get_absolute_url())
        for address in (lot.get_absolute_url(), reverse("stock:ledger")):
            assert "27 Feb 2025 entered 3 Mar 2025, 09:00" in page(address)
            assert "00:00" not in page(address)


def test_what_came_in_today_has_its_hour(engineer, page, at):
    with at("2025-03-03 09:00"):
        lot = make_lot(engineer, make_item(engineer), 5)
        assert "Received at 09:00 by Edvin Maarsk. Was that a mistake?" in page(lot.get_absolute_url())
    with at("2025-03-03 00:00"):  # at midnight on the dot
        lot = make_lot(engineer, lot.item, 5, code="L-2")
        assert "Received at 00:00 by Edvin Maarsk" in page(lot.get_absolute_url())
