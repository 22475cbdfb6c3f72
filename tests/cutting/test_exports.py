"""What of cutting is carried away: bookings with their sides, sides, styli with their lives, what sides cost."""

import re

import pytest
from django.urls import reverse

from shop import clock
from shop.cutting import actions
from shop.cutting.actions import WantedSide, WantedTitle
from shop.stock.models import Lot
from tests.carrying.files import lines
from tests.cutting.makers import address, cut, make_booking, make_stylus, once, text
from tests.makers import anyway

pytestmark = pytest.mark.django_db


def told(found, *headings):
    return [tuple(line[heading] for heading in headings) for line in found]


def test_bookings_go_out_side_by_side_as_their_page_is_narrowed(bench, client_of, visitor):
    booking = make_booking(bench.engineer, code="KITE-1", title="=Ferry", customer="Reed & Daughters")
    cut(bench, wanted=booking.wanted.get(label="A"))
    rejected = {"outcome": "rejected", "reject_reason": bench.reason}
    cut(bench, wanted=booking.wanted.get(label="B"), **rejected)
    done = anyway(actions.finish_booking, by=bench.engineer, booking=make_booking(bench.engineer, code="ELM-1"))
    client = client_of(visitor)
    assert told(lines(client, "bookings"), "Booking", "Title", "Side", "Length", "Cut", "State") == [
        ("KITE-1", "'=Ferry", "A", "20:00", "yes", "open"),
        ("KITE-1", "'=Ferry", "B", "20:00", "no", "open"),
    ]
    assert {line["Booking"] for line in lines(client, "bookings", "?state=finished")} == {done.code}
    assert {line["Booking"] for line in lines(client, "bookings", "?state=all")} == {"KITE-1", done.code}
    assert {line["Booking"] for line in lines(client, "bookings", "?state=x")} == {"KITE-1"}  # as the page takes it
    assert 'href="/carry/bookings.csv?state=finished"' in text(client.get(address("bookings") + "?state=finished"))


def test_bookings_take_their_plans_along(bench, client_of, visitor):
    titles = [WantedTitle(600, "Ferry Song"), WantedTitle(598)]
    sides = [WantedSide("A", None, titles=titles, level_note="brass at 3:00"), WantedSide("B", 2400)]
    make_booking(bench.engineer, sides)
    assert told(lines(client_of(visitor), "bookings"), "Length", "Titles", "Loudest", "Fits") == [
        ("20:00", "10:00 Ferry Song; 9:58", "brass at 3:00", "yes"),
        ("40:00", "", "", "no"),
    ]
    assert [
        float(spare) for (spare,) in told(lines(client_of(visitor), "bookings"), "To spare, mm of radius")
    ] == pytest.approx([88.7 - 0.8 - 1198 / 1.8 * 0.096, 88.7 - 2400 / 1.8 * 0.096], abs=0.06)


def test_sides_go_out_as_their_page_is_narrowed(bench, client_of, visitor):
    cut(bench, cut_text="ONE")
    test = cut(bench, outcome="test", cut_text="TWO")
    actions.withdraw_side(by=bench.engineer, once=once(), side=cut(bench, cut_text="THREE"), reason="twice")
    client = client_of(visitor)
    assert {line["Run-out"] for line in lines(client, "sides")} == {"ONE", "TWO", "THREE"}
    assert told(lines(client, "sides", "?outcome=test"), "Side", "Run-out", "Lot", "Stylus") == [
        (str(test.pk), "TWO", "L1", "R-1")
    ]
    assert lines(client, "sides", "?until=2001-01-01") == []
    assert 'href="/carry/sides.csv?outcome=test"' in text(client.get(address("sides") + "?outcome=test"))


def test_styli_go_out_life_by_life(bench, client_of, visitor):
    cut(bench, cut_s=1080)
    gone = make_stylus(bench.engineer, bench.kind, "R-3")
    actions.retire_stylus(by=bench.engineer, once=once(), stylus=gone, reason="chipped")
    make_stylus(bench.engineer, bench.kind, "R-2")
    client = client_of(visitor)
    in_use = lines(client, "styli")
    assert told(in_use, "Stylus", "Where", "Life", "Hours cut here", "Sides") == [
        ("R-1", "in Lathe", "1", "0.3", "1"),
        ("R-2", "in the drawer", "", "", ""),
    ]
    assert told(lines(client, "styli", "?state=retired"), "Stylus", "Retired because") == [("R-3", "Chipped")]
    assert len(lines(client, "styli", "?state=all")) == 3


def test_what_sides_cost_goes_out_cut_by_cut_for_the_days_shown(bench, client_of, engineer):
    Lot.objects.filter(pk=bench.lot.pk).update(unit_cost="31.50")
    booking = make_booking(bench.engineer, code="KITE-1")
    cut(bench, wanted=booking.wanted.get(label="A"))
    cut(bench)
    client = client_of(engineer)
    assert told(lines(client, "costs"), "Blank", "Gas", "In all", "Currency") == [("31.5", "", "31.5", "EUR")] * 2
    page = text(client.get(reverse("cutting:booking-cost", args=[booking.pk])))
    (query,) = re.findall(r'href="/carry/costs\.csv([^"]*)"', page)
    assert told(lines(client, "costs", query), "Booking", "Booked side") == [("KITE-1", "A")]
    with clock.moved(clock.now().replace(year=clock.now().year + 1)):
        assert lines(client, "costs") == []
        assert len(lines(client, "costs", "?since=1970-01-01")) == 2
