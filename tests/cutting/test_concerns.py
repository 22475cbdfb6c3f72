"""What cutting worries about, and how gravely."""

from datetime import timedelta

import pytest

from shop import clock
from shop.concern import Grade
from shop.cutting import actions, queries
from shop.cutting.actions import WantedSide
from shop.cutting.concerns import concerns
from shop.cutting.models import Life
from shop.stock import actions as stock
from tests.cutting.makers import cut, make_bench, make_booking, make_stylus, once
from tests.makers import at
from tests.stock.makers import make_lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(engineer):
    with at("2025-03-03 08:00"):
        made = make_bench(engineer)
    with at("2025-03-03 10:00"):
        yield made


def found():
    return {concern.key: concern for concern in concerns(clock.now())}


def later(days):
    return clock.today() + timedelta(days=days)


def test_a_room_in_order_worries_nobody(bench):
    make_booking(bench.engineer)
    assert found() == {}


def test_an_empty_head(bench):
    actions.take_off_stylus(by=bench.engineer, once=once(), stylus=bench.stylus)
    key = f"cutting:no-stylus:{bench.lathe.pk}"
    assert found()[key].grade == Grade.CARE
    make_booking(bench.engineer)
    assert found()[key].grade == Grade.HOLD


def wear_out(bench, hours):
    """Make the fitted stylus one that has cut so many hours, where lives of its kind end at 10 h."""
    for place in range(12):
        stylus = make_stylus(bench.engineer, bench.kind, f"W-{place}")
        Life.objects.create(stylus=stylus, began_at=clock.now(), cut_s=round((9.5 + place / 12) * 3600), sides=1)
        actions.retire_stylus(by=bench.engineer, once=once(), stylus=stylus, reason="worn")
    Life.objects.filter(stylus=bench.stylus).update(cut_s=round(hours * 3600))


def test_a_stylus_that_may_not_finish_the_day(bench):
    wear_out(bench, 8.6)
    assert found() == {}, "with nothing to cut there is nothing to fail"
    make_booking(bench.engineer)
    key = f"cutting:life:{Life.objects.get(stylus=bench.stylus).pk}"
    chance = queries.life_outlook(Life.objects.get(stylus=bench.stylus)).chance(2400)
    assert 0.6 < chance < 0.9
    assert found()[key].grade == Grade.CARE
    assert "12 lives" in found()[key].reason
    make_booking(bench.engineer)
    make_booking(bench.engineer)
    assert found()[key].grade == Grade.HOLD


def test_the_limits_are_the_shops_own(bench):
    wear_out(bench, 8.6)
    make_booking(bench.engineer)
    actions.change_limits(by=bench.engineer, once=once(), version=1, care_below=0.2, hold_below=0.1, days_ahead=14)
    assert found() == {}


def test_with_a_second_stylus_that_would_do_it_is_care_only(bench):
    wear_out(bench, 9.5)
    for _ in range(3):
        make_booking(bench.engineer)
    key = f"cutting:life:{Life.objects.get(stylus=bench.stylus).pk}"
    assert found()[key].grade == Grade.HOLD
    second = actions.add_lathe(by=bench.engineer, once=once(), name="Second")
    fresh = make_stylus(bench.engineer, bench.kind, "R-2")
    actions.fit_stylus(by=bench.engineer, once=once(), stylus=fresh, lathe=second)
    assert found()[key].grade == Grade.CARE


def test_hours_past_the_expected_are_a_note(bench):
    Life.objects.update(cut_s=13 * 3600)
    [note] = concerns(clock.now())
    assert (note.grade, "expects 12 h" in note.reason) == (Grade.NOTE, True)


def test_too_few_blanks_for_today_hold(bench):
    stock.count_lot(by=bench.engineer, once=once(), lot=bench.lot, counted=1, expected=10, reason="miscounted")
    make_booking(bench.engineer)
    hold = found()["cutting:blanks:14"]
    assert hold.grade == Grade.HOLD
    assert "1 blank of 14 inch missing" in hold.headline
    cut(bench, wanted=queries.uncut(clock.today())[0])
    assert "1 blank of 14 inch missing" in found()["cutting:blanks:14"].headline


def test_held_blanks_do_not_count(bench):
    make_booking(bench.engineer)
    stock.hold_lot(by=bench.engineer, once=once(), lot=bench.lot, why="haze")
    assert found()["cutting:blanks:14"].grade == Grade.HOLD


def test_too_few_blanks_name_what_lies_on_hold_and_lead_there(bench):
    make_booking(bench.engineer)
    small = make_lot(bench.engineer, bench.item, 3, code="L2")
    gone = make_lot(bench.engineer, bench.item, 9, code="L3", best_before=later(0))
    for lot in (bench.lot, small, gone):
        stock.hold_lot(by=bench.engineer, once=once(), lot=lot, why="haze")
    with clock.moved(clock.now() + timedelta(days=1)):
        hold = found()["cutting:blanks:14"]
        assert "0 blanks may be used. On hold: 10 in lot L1, 3 in lot L2. Nothing" in hold.reason
        assert hold.what_to_do == "Look whether lot L1 can be released, or move a side to another day."
        assert hold.link == bench.lot.get_absolute_url()


def test_too_few_blanks_with_none_on_hold_lead_to_the_shelf(bench):
    make_booking(bench.engineer)
    stock.count_lot(by=bench.engineer, once=once(), lot=bench.lot, counted=0, expected=10, reason="miscounted")
    hold = found()["cutting:blanks:14"]
    assert (hold.what_to_do, hold.link) == ("Get blanks in, or move a side to another day.", "/stock/")
    assert "On hold" not in hold.reason


def test_blanks_that_will_be_past_their_date_by_the_day_are_care(bench):
    stock.count_lot(by=bench.engineer, once=once(), lot=bench.lot, counted=1, expected=10, reason="miscounted")
    make_lot(bench.engineer, bench.item, 5, code="L2", best_before=later(3))
    make_booking(bench.engineer, cut_on=later(3))
    assert found() == {}
    make_booking(bench.engineer, cut_on=later(4))
    care = found()["cutting:blanks:14"]
    assert (care.grade, care.by) == (Grade.CARE, clock.day_bounds(later(4))[0])
    assert "1 booked side" in care.headline


def test_sides_that_do_not_fit_are_a_note_of_their_booking_until_its_day(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 45 * 60), WantedSide("B", 50 * 60)], cut_on=later(3))
    key = f"cutting:fit:{booking.pk}"
    note = found()[key]
    assert (note.grade, note.by) == (Grade.NOTE, clock.day_bounds(later(3))[0])
    assert note.headline.startswith("Sides A and B do not fit: up to ")
    assert {one.kind for one in note.quantities} == {"length"}
    assert all(one.text in note.reason for one in note.quantities)
    with at("2025-03-06 08:00"):
        assert (found()[key].grade, found()[key].by) == (Grade.HOLD, None)


def test_one_side_that_does_not_fit_is_named_alone(bench):
    booking = make_booking(bench.engineer, [WantedSide("A", 45 * 60), WantedSide("B", 15 * 60)], cut_on=later(3))
    assert found()[f"cutting:fit:{booking.pk}"].headline.startswith("Side A does not fit: ")


def test_a_booking_gone_by_is_a_note_until_it_is_cut_or_closed(bench):
    booking = make_booking(bench.engineer)
    with at("2025-03-04 08:00"):
        note = found()[f"cutting:gone-by:{booking.pk}"]
        assert (note.grade, note.reason) == (Grade.NOTE, "Not cut yet: A, B.")
        actions.finish_booking(by=bench.engineer, once=once(), booking=booking, sure=["uncut:A, B"])
        assert found() == {}


def test_as_many_queries_for_many_bookings_as_for_one(bench, django_assert_max_num_queries):
    make_booking(bench.engineer)
    concerns(clock.now())  # Django asks the database once what it can do
    with django_assert_max_num_queries(6) as few:
        concerns(clock.now())
    for _ in range(12):
        make_booking(bench.engineer, [WantedSide("A", 45 * 60)])
    with django_assert_max_num_queries(8) as many:
        concerns(clock.now())
    assert len(many) <= len(few) + 1
