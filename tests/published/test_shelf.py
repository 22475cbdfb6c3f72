"""Shelf life and the order of lots, against what is published."""

from datetime import timedelta
from itertools import permutations

import pytest

from shop import clock
from shop.stock import queries
from shop.stock.models import last_day_of
from tests.stock.makers import day, make_item, make_lot, use

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("entered", list(permutations(["2025-09-30", "2025-06-30", "2026-01-31"])))
def test_first_expiry_first_out(engineer, at, entered):
    """Of identical items the one with the earliest expiry date is used before one with a later date.

    Source: World Health Organization, good distribution practices, Annex 5 (glossary, "first expiry/first out"; since
    replaced by WHO Technical Report Series 1025, 2020, Annex 7), as quoted at https://qdossier.com/qsauri/tr2143.htm
    """
    with at("2025-03-03 09:00"):
        item = make_item(engineer)
        for date in entered:
            make_lot(engineer, item, 2, code=date, best_before=day(date))
        used = []
        while lot := queries.first_lot(day=clock.today(), item=item):
            used.append(use(engineer, lot, note=f"number {len(used) + 1}").lot.code)
    assert used == ["2025-06-30"] * 2 + ["2025-09-30"] * 2 + ["2026-01-31"] * 2


def test_the_published_order_is_silent_on_ties_and_on_the_last_day_so_the_shop_s_own_rules_stand(engineer, at):
    """No source was found that says whether stock is usable on its date, or which of two of one date goes first.

    The shop's own rules, stated on its pages: usable through the last day; ties go to the older delivery.
    """
    with at("2025-03-03 09:00"):
        item = make_item(engineer)
        make_lot(engineer, item, code="younger", best_before=day("2025-06-30"), received_on=day("2025-03-02"))
        make_lot(engineer, item, code="older", best_before=day("2025-06-30"), received_on=day("2025-03-01"))
    order = [lot.code for lot in queries.usable_lots(day=day("2025-06-30"), item=item)]
    assert order == ["older", "younger"]
    assert queries.first_lot(day=day("2025-07-01"), item=item) is None


@pytest.mark.parametrize(
    ("from_day", "days", "last"),
    [
        ("2024-02-28", 1, "2024-02-29"),  # a leap year
        ("2023-02-28", 1, "2023-03-01"),
        ("2024-12-31", 365, "2025-12-31"),
        ("2019-12-31", 366, "2020-12-31"),
    ],
)
def test_shelf_days_are_counted_on_the_calendar(from_day, days, last):
    """2020-12-31 is day 366 of its year: Python's date documentation and date.timetuple agree."""
    counted = last_day_of(best_before=None, made_on=day(from_day), received_on=day(last), shelf_days=days)
    assert counted == day(last)
    assert counted - day(from_day) == timedelta(days=days)
