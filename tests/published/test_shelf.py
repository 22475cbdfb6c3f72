"""Shelf life, the order of lots and the weeks they are counted by, against what is published.

Not read here, and so not checked: expiry dates out of a bar code (GS1 application identifier 17), and the numbers that
OPC 30060 gives to the orders of taking out (11.12: 3 for first expired, first out).
"""

from datetime import timedelta
from itertools import permutations

import pytest

from shop import clock
from shop.stock import queries
from shop.stock.models import last_day_of
from shop.stock.sheets import cells
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


#: ISO 8601: week 1 holds the year's first Thursday, and weeks begin on Monday.
WEEKS = [
    # Azure data-explorer, page of week_of_year
    ("2020-12-31", "2020-W53", "2020-12-28"),
    ("2020-06-15", "2020-W25", "2020-06-15"),
    ("1970-01-01", "1970-W01", "1969-12-29"),
    ("2000-01-01", "1999-W52", "1999-12-27"),
    # Python's documentation of date.isocalendar: 2004-W01 is 2003-12-29 to 2004-01-04
    ("2003-12-29", "2004-W01", "2003-12-29"),
    ("2004-01-01", "2004-W01", "2003-12-29"),
    ("2004-01-04", "2004-W01", "2003-12-29"),
    # computed with date.isocalendar
    ("2021-01-03", "2020-W53", "2020-12-28"),
    ("2024-12-30", "2025-W01", "2024-12-30"),
    ("2026-01-01", "2026-W01", "2025-12-29"),
]


@pytest.mark.parametrize(("one", "week", "monday"), WEEKS)
def test_weeks_are_those_of_the_standard(one, week, monday):
    """A week in a file is read as its Monday, and use is counted in the week that a day is in."""
    assert cells.day(week, "") == day(monday)
    assert clock.monday_of(clock.day_bounds(day(one))[0]) == day(monday)
    year, number, _ = day(one).isocalendar()
    assert f"{year}-W{number:02}" == week


@pytest.mark.parametrize("week", ["2021-W53", "2004-W54", "2004-W00"])
def test_a_week_that_its_year_does_not_have_is_refused(week):
    with pytest.raises(cells.Unfit):
        cells.day(week, "")
