"""Bookings stand in the calendar, and a cancelled one is shown as such."""

from uuid import uuid4

import pytest

from shop import clock
from shop.cutting import actions
from shop.cutting.happenings import happenings
from tests.cutting import makers

pytestmark = pytest.mark.django_db


def test_a_booking_stands_on_its_day_and_stays_when_it_is_cancelled(owner):
    makers.make_bench(owner)
    booking = makers.make_booking(owner)
    (one,) = happenings(clock.now())
    assert (one.uid, one.start, one.is_cancelled) == (f"cutting:booking:{booking.pk}", booking.cut_on, False)
    assert booking.code in one.title
    actions.cancel_booking(by=owner, once=uuid4(), booking=booking, note="Called off.")
    (again,) = happenings(clock.now())
    assert (again.uid, again.is_cancelled) == (one.uid, True)
