"""Which lot was that? From any code, mark or run-out to what it touched, and back."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.cutting import actions, queries
from shop.cutting.models import Booking, Side, Stylus
from shop.cutting.queries import Traced, matches, trace
from shop.finding import begins
from shop.stock import actions as stock
from shop.stock.models import Lot, Movement
from tests.cutting.makers import cut, make_booking, make_stylus, once
from tests.stock.makers import make_item, make_liquid, make_lot, make_supplier, reverse

pytestmark = pytest.mark.django_db


def names(rows):
    return [str(row.row) if hasattr(row, "row") else str(row) for row in rows]


# Searching ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def written(bench):
    """A booking with one side, whose run-out says something of its own."""
    booking = make_booking(bench.engineer, code="FERRY-7")
    return booking, cut(bench, wanted=booking.wanted.first(), cut_text="for E. + M. 100%")


@pytest.mark.parametrize(
    ("asked", "kind"),
    [
        ("L1", "lots"),
        ("l1", "lots"),
        ("  ferry-7 ", "bookings"),
        ("FER", "bookings"),
        ("r-1", "styli"),
        ("E. + m.", "sides"),
        ("100%", "sides"),
        ("rry", "bookings"),
    ],
)
def test_one_box_finds_all_kinds_whatever_the_capitals(written, asked, kind):
    found = matches(asked)
    assert len(found.every) == 1, found
    assert len(getattr(found, kind)) == 1


@pytest.mark.parametrize("asked", ["", "   ", "\x00", "zzz", "%", "_", "x" * 500, "'; --", "\U0010ffff", "L1\x00"])
def test_what_is_not_there_is_not_found_and_nothing_breaks(bench, asked):
    if asked == "L1\x00":
        assert names(matches(asked).lots) == ["L1"]
    else:
        assert matches(asked).every == []


def test_the_exact_code_comes_first_and_a_beginning_before_a_part(bench):
    for mark in ("R-12", "R-11", "XR-1"):
        make_stylus(bench.engineer, bench.kind, mark)
    assert names(matches("R-1").styli) == ["R-1", "R-11", "R-12"]
    assert names(matches("XR").styli) == ["XR-1"]
    assert names(matches("-1").styli) == ["XR-1", "R-11", "R-12", "R-1"]  # of parts the latest first


def test_a_lot_of_the_same_code_from_two_suppliers_is_two_matches(bench):
    make_lot(bench.engineer, bench.item, code="L1", supplier=make_supplier(bench.engineer))
    assert names(matches("L1").lots) == ["L1", "L1"]


def test_of_each_kind_only_so_many_are_shown(bench, monkeypatch):
    monkeypatch.setattr("shop.cutting.queries.tracing.MOST_MATCHES", 2)
    for number in range(4):
        cut(bench, cut_text=f"ELM {number}")
    found = matches("elm")
    assert [side.cut_text for side in found.sides] == ["ELM 3", "ELM 2"]
    assert found.cut_off == (Traced.SIDE,)


@pytest.mark.sqlite
def test_codes_are_found_by_an_index(bench):
    for rows, field, index in (
        (Lot.objects.all(), "code", "stock_lot_code"),
        (Booking.objects.all(), "code", "cutting_booking_code"),
        (Stylus.objects.all(), "mark", "cutting_stylus_mark"),
    ):
        assert f"USING INDEX {index}" in begins(rows, field, "B-1").explain()


# Tracing --------------------------------------------------------------------------------------------------------------


@pytest.fixture
def history(bench):
    """Two lots, two styli, a booking over all of them, and a side that was withdrawn."""
    by = bench.engineer
    supplier = make_supplier(by, "Blankworks of Elsewhere")
    styli = make_lot(by, make_item(by, "Stylus", kind="stylus"), 3, code="S-LOT", supplier=supplier)
    other = make_lot(by, bench.item, 20, code="L2", supplier=supplier)
    second = make_stylus(by, bench.kind, "R-2", lot=styli)
    booking = make_booking(by)
    a, b = booking.wanted.order_by("label")
    sides = [cut(bench, wanted=a, outcome="rejected", reject_reason=bench.reason), cut(bench, wanted=a)]
    actions.take_off_stylus(by=by, once=once(), stylus=bench.stylus)
    actions.fit_stylus(by=by, once=once(), stylus=second, lathe=bench.lathe)
    mistaken = cut(bench, lot=other, cut_text="twice", sure=_sure(bench, other))
    actions.withdraw_side(by=by, once=once(), side=mistaken, reason="entered twice")
    sides += [mistaken, cut(bench, wanted=b, lot=other, sure=_sure(bench, other))]
    return {"lot": bench.lot, "other": other, "styli": styli, "second": second, "booking": booking, "sides": sides}


def _sure(bench, lot):
    return [f"out-of-turn:{bench.lot.pk}"]


def test_from_a_lot_to_all_it_touched(bench, history):
    found = trace(Traced.LOT, history["other"].pk)
    assert names(found.sides) == names(history["sides"][:1:-1])
    assert [(str(one.row), one.sides, one.withdrawn) for one in found.styli] == [("R-2", 1, 1)]
    assert [(one.row, one.sides) for one in found.bookings] == [(history["booking"], 1)]
    assert found.lots == []


def test_from_a_lot_of_styli_to_the_blanks_they_cut(bench, history):
    found = trace(Traced.LOT, history["styli"].pk)
    assert [(str(one.row), one.sides, one.withdrawn) for one in found.lots] == [("L2", 1, 1)]
    assert names(found.styli) == ["R-2"]
    spare = make_stylus(bench.engineer, bench.kind, "R-3", lot=history["styli"])
    again = trace(Traced.LOT, history["styli"].pk)
    assert [(one.row, one.sides) for one in again.styli] == [(history["second"], 1), (spare, 0)]


def test_back_from_a_booking_a_stylus_and_a_side(bench, history):
    booking = trace(Traced.BOOKING, history["booking"].pk)
    assert {str(one.row): one.sides for one in booking.lots} == {"L1": 2, "L2": 1}
    assert {str(one.row): one.sides for one in booking.styli} == {"R-1": 2, "R-2": 1}
    stylus = trace(Traced.STYLUS, history["second"].pk)
    assert names(stylus.lots) == ["L2"]
    assert stylus.row.lot == history["styli"]
    side = trace(Traced.SIDE, history["sides"][1].pk)
    assert set(side.sides) == set(history["sides"][:2])  # the booked side was cut twice
    loose = trace(Traced.SIDE, history["sides"][2].pk)
    assert list(loose.sides) == [history["sides"][2]]


def test_nothing_is_traced_that_is_not_there(bench):
    assert [trace(kind, 10**30 if kind == Traced.LOT else 99_999) for kind in Traced] == [None] * 4


def test_a_delivery_that_was_undone_shows_as_that(bench):
    lot = make_lot(bench.engineer, bench.item, code="NEVER")
    reverse(bench.engineer, Movement.objects.get(lot=lot))
    assert trace(Traced.LOT, lot.pk).is_void
    assert not trace(Traced.LOT, bench.lot.pk).is_void


def test_lists_beside_the_sides_end_somewhere(bench, history, monkeypatch):
    monkeypatch.setattr("shop.cutting.queries.tracing.MOST_TOUCHED", 1)
    found = trace(Traced.BOOKING, history["booking"].pk)
    assert (names(found.lots), found.cut_off) == (["L2"], ("lots", "styli"))


def test_as_many_queries_for_much_as_for_little(bench, history):
    def taken(kind, pk):
        with CaptureQueriesContext(connection) as seen:
            list(trace(kind, pk).sides[:50])
        return len(seen)

    asked = [(Traced.LOT, bench.lot.pk), (Traced.STYLUS, history["second"].pk), (Traced.BOOKING, history["booking"].pk)]
    few = [taken(*one) for one in asked]
    assert max(few) <= 8
    for number in range(6):
        cut(bench, wanted=make_booking(bench.engineer).wanted.first(), cut_text=str(number))
    assert [taken(*one) for one in asked] == few
    assert Side.objects.count() == 10


def test_held_and_corrected_lots_show_what_was_said(bench):
    stock.hold_lot(by=bench.engineer, once=once(), lot=bench.lot, why="dull")
    bench.lot.refresh_from_db()
    stock.correct_lot(
        by=bench.engineer, once=once(), lot=bench.lot, version=bench.lot.version, code="L1-A", why="misread"
    )
    found = trace(Traced.LOT, bench.lot.pk)
    assert [remark.get_kind_display() for remark in found.remarks] == ["Put right", "Put on hold"]


def test_a_lot_of_something_else_has_no_sides(bench):
    lot = make_lot(bench.engineer, make_liquid(bench.engineer), 500, code="W1")
    assert list(queries.trace(Traced.LOT, lot.pk).sides) == []
