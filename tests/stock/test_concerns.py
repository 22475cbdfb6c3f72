"""What stock is worried about, and when it stops."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock, concern
from shop.concern import Grade
from shop.stock import actions, claims
from shop.stock.claims import Claim
from shop.stock.concerns import concerns
from tests.stock.makers import day, make_defect, make_item, make_liquid, make_lot, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def claimed(monkeypatch):
    wanted = []
    monkeypatch.setattr(claims, "_questions", {})
    claims.register_claims("bookings", lambda day: wanted)
    return wanted


def found(prefix="stock:"):
    return {c.key: c for c in concerns(clock.now()) if c.key.startswith(prefix)}


def test_an_empty_room_worries_nobody(room_row, claimed):
    assert found() == {}


def test_enough_is_no_concern_and_no_minimum_is_none(engineer, claimed):
    make_lot(engineer, make_item(engineer, minimum=5), 5)
    make_item(engineer, "Hose", kind="part")
    assert found() == {}


def test_blanks_below_their_minimum_by_size(engineer, claimed):
    item = make_item(engineer, minimum=5)
    lot = make_lot(engineer, item, 5)
    use(engineer, lot)
    [low] = found().values()
    assert (low.key, low.grade) == ("stock:low:blank-14", Grade.NOTE)
    assert low.headline == "4 14 inch blanks free, below 5"
    use(engineer, lot, 4)
    [low] = found().values()
    assert (low.grade, low.headline) == (Grade.CARE, "No usable 14 inch blanks")


def test_blanks_that_bookings_want_are_not_free(engineer, claimed, at):
    with at("2025-03-03 09:00"):
        make_lot(engineer, make_item(engineer, minimum=2), 5)
        claimed.append(Claim(14, 3, day("2025-03-10"), "B1", "/1"))
        assert found() == {}
        claimed.append(Claim(14, 1, day("2025-03-12"), "B2", "/2"))
        [low] = found().values()
        assert (low.grade, low.headline) == (Grade.NOTE, "1 14 inch blank free, below 2")
        claimed.append(Claim(14, 3, day("2025-03-11"), "B3", "/3"))
        [low] = found().values()
        assert (low.grade, low.headline) == (Grade.CARE, "2 blanks of 14 inch short for what is booked")
        assert "run out at B3 on 11 March 2025" in low.reason
        assert low.by == clock.day_bounds(day("2025-03-11"))[0]


def test_another_item_below_its_minimum(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    [low] = found().values()
    assert (low.key, low.grade) == (f"stock:low:item-{item.pk}", Grade.CARE)
    lot = make_lot(engineer, item, 1500)
    assert found() == {}
    use(engineer, lot, 700)
    [low] = found().values()
    assert (low.grade, low.reason) == (Grade.NOTE, "800\u00a0ml usable (800\u00a0ml on hand); the minimum is 1\u00a0l.")
    assert low.link == item.get_absolute_url()


def test_what_is_held_or_past_does_not_count(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    lot = make_lot(engineer, item, 1500)
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="cloudy")
    assert found("stock:low").popitem()[1].grade == Grade.CARE


def test_a_lot_near_and_past_its_date(engineer, claimed, at):
    with at("2025-01-02 09:00"):
        item = make_item(engineer, warn_days=10)
        lot = make_lot(engineer, item, 5, code="K", best_before=day("2025-03-20"))
    near, past = f"stock:near:lot-{lot.pk}", f"stock:past:lot-{lot.pk}"
    said = {
        "2025-03-09 23:59": {},
        "2025-03-10 00:01": {near: (Grade.NOTE, "Lot K is usable for 10 more days")},
        "2025-03-19 12:00": {near: (Grade.NOTE, "Lot K is usable only tomorrow")},
        "2025-03-20 23:59": {near: (Grade.NOTE, "Lot K is usable only today")},
        "2025-03-21 00:01": {past: (Grade.CARE, "Lot K is past its date")},
    }
    for when, expected in said.items():
        with at(when):
            assert {key: (c.grade, c.headline) for key, c in found().items()} == expected, when
    with at("2025-03-21 09:00"):
        actions.spoil_stock(by=engineer, once=uuid4(), lot=lot, quantity=5, defect=make_defect(engineer))
        assert found() == {}


def test_a_lot_on_hold_until_it_is_released_or_gone(engineer, claimed):
    lot = make_lot(engineer, make_item(engineer), 5, code="K", best_before=clock.today() + timedelta(days=2))
    assert set(found()) == {f"stock:near:lot-{lot.pk}"}
    actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="pinholes")
    [held] = found().values()
    assert (held.key, held.grade) == (f"stock:held:lot-{lot.pk}", Grade.NOTE)
    assert held.reason.startswith("pinholes (Edvin Maarsk, ")
    actions.release_lot(by=engineer, once=uuid4(), lot=lot, note="clean under the lamp")
    assert set(found()) == {f"stock:near:lot-{lot.pk}"}


def test_they_are_gathered_with_everybody_s(engineer, claimed):
    item = make_liquid(engineer, minimum=1000)
    assert f"stock:low:item-{item.pk}" in {c.key for c in concern.gather(clock.now())}


def test_asked_as_often_whatever_there_is(engineer, claimed, django_assert_num_queries):
    def grow(to):
        for n in range(to):
            item = make_item(engineer, f"Part {to} {n}", kind="part", minimum=5)
            lot = make_lot(engineer, item, 2, best_before=clock.today() + timedelta(days=1))
            if n % 2:
                actions.hold_lot(by=engineer, once=uuid4(), lot=lot, why="?")

    grow(3)
    with django_assert_num_queries(6):
        assert len(found()) == 6
    grow(40)
    with django_assert_num_queries(6):
        assert len(found()) == 86
