"""Which lot goes first, what counts as usable, and what is free."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.stock import actions, claims, queries
from shop.stock.claims import Claim
from tests.stock.makers import day, make_item, make_lot, use

pytestmark = pytest.mark.django_db


def codes(lots):
    return [lot.code for lot in lots]


def test_first_expired_first_out_ties_to_the_older_delivery_undated_last(engineer, at):
    item = make_item(engineer)
    with at("2025-03-10 09:00"):
        make_lot(engineer, item, code="undated")
        make_lot(engineer, item, code="late", best_before=day("2025-12-31"))
        make_lot(engineer, item, code="younger tie", best_before=day("2025-06-30"), received_on=day("2025-03-09"))
        make_lot(engineer, item, code="older tie", best_before=day("2025-06-30"), received_on=day("2025-03-01"))
        make_lot(
            engineer,
            item,
            code="older tie, entered later",
            best_before=day("2025-06-30"),
            received_on=day("2025-03-01"),
        )
        lots = queries.usable_lots(day=clock.today(), item=item)
    assert codes(lots) == ["older tie", "older tie, entered later", "younger tie", "late", "undated"]


def test_held_past_and_empty_lots_are_not_usable(engineer, at):
    item = make_item(engineer)
    with at("2025-03-10 09:00"):
        held = make_lot(engineer, item, 5, code="held")
        actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="?")
        make_lot(engineer, item, 4, code="short-lived", best_before=day("2025-03-20"))
        empty = make_lot(engineer, item, 3, code="empty")
        use(engineer, empty, 3, sure=[f"out-of-turn:{queries.first_lot(day=clock.today(), item=item).pk}"])
        make_lot(engineer, item, 2, code="good", best_before=day("2026-03-20"))
    for when, usable, past in (("2025-03-20", ["short-lived", "good"], 0), ("2025-03-21", ["good"], 4)):
        assert codes(queries.usable_lots(day=day(when), item=item)) == usable
        level = queries.levels(day(when))[item.pk]
        assert (level.on_hand, level.held, level.past_date) == (11, 5, past)
        assert level.usable == 6 - past
    assert queries.levels(day("2025-03-20"))[item.pk].next_last_day == day("2025-03-20")


def test_blanks_of_a_size_come_from_all_its_items(engineer):
    one, two = make_item(engineer, "Blank A", minimum=2), make_item(engineer, "Blank B", minimum=1)
    twelve = make_item(engineer, "Blank C", kind="blank", blank_in=12)
    soon = clock.today() + timedelta(days=10)
    make_lot(engineer, one, 5, code="a")
    make_lot(engineer, two, 6, code="b", best_before=soon)
    make_lot(engineer, twelve, 7, code="c")
    assert codes(queries.usable_lots(day=clock.today(), blank_in=14)) == ["b", "a"]
    assert queries.first_lot(day=clock.today(), blank_in=12).code == "c"
    assert queries.first_lot(day=clock.today(), blank_in=10) is None
    stock = queries.blank_stock(clock.today())
    assert (stock[14].usable, stock[14].minimum, stock[14].next_last_day) == (11, 3, soon)
    assert (stock[12].usable, stock[10].usable) == (7, 0)
    assert list(stock) == [14, 12, 10]
    assert [size.is_kept for size in stock.values()] == [True, True, False]


@pytest.fixture
def claimed(monkeypatch):
    """What bookings want; the test fills it."""
    wanted = []
    monkeypatch.setattr(claims, "_questions", {})
    claims.register_claims("bookings", lambda day: wanted)
    return wanted


def test_free_is_what_bookings_leave(engineer, claimed):
    make_lot(engineer, make_item(engineer), 5)
    today = clock.today()
    claimed += [
        Claim(14, 3, today + timedelta(days=9), "B2", "/2"),
        Claim(14, 2, today, "B1", "/1"),
        Claim(12, 1, today, "B1", "/1"),
    ]
    stock = queries.blank_stock(today)
    assert (stock[14].claimed, stock[14].free, stock[14].first_short) == (5, 0, None)
    assert (stock[12].free, stock[12].short_by, stock[12].first_short.label) == (-1, 1, "B1")
    claimed[0] = Claim(14, 4, today + timedelta(days=9), "B2", "/2")
    assert queries.blank_stock(today)[14].first_short.label == "B2"


def test_lines_of_lots_mark_the_next_and_know_their_age(engineer, at):
    item = make_item(engineer)
    with at("2025-03-01 09:00"):
        held = make_lot(engineer, item, code="1", best_before=day("2025-03-31"))
        actions.hold_lot(by=engineer, once=uuid4(), lot=held, why="?")
        make_lot(engineer, item, code="2", best_before=day("2025-04-09"), made_on=day("2025-01-01"))
        make_lot(engineer, item, code="3")
    lines = queries.lot_lines(item, day("2025-03-31"))
    assert [(line.lot.code, line.is_next) for line in lines] == [("1", False), ("2", True), ("3", False)]
    assert [line.age_days for line in lines] == [30, 89, 30]
    assert [line.days_left for line in lines] == [0, 9, None]
    assert [line.is_near for line in lines] == [True, True, False]
    # 10 of the 99 days from the day it was made through its last one are still to come.
    assert [line.life_left for line in lines] == [pytest.approx(1 / 31), pytest.approx(10 / 99), None]
    late = queries.lot_lines(item, day("2025-05-01"))
    assert [(line.lot.code, line.is_next, line.is_past) for line in late] == [
        ("1", False, True),
        ("2", False, True),
        ("3", True, False),
    ]
    assert late[1].life_left == 0
