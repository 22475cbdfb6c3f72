"""What the cutting room puts into the calendar: its bookings, each on its day."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db.models import Count, Sum

from shop import clock
from shop.cutting.models import Booking
from shop.happening import Happening

#: How far back bookings are told of: what was called off meanwhile is shown as such.
_BACK = timedelta(days=60)


def happenings(now: datetime) -> Iterator[Happening]:
    """Bookings from two months ago on, the cancelled ones as cancelled; one query."""
    since = clock.day_of(now) - _BACK
    bookings = Booking.objects.filter(cut_on__gte=since).annotate(sides=Count("wanted"), play_s=Sum("wanted__play_s"))
    for booking in bookings.order_by("id"):
        sides = f"{booking.sides} side" + ("" if booking.sides == 1 else "s")
        yield Happening(
            uid=f"cutting:booking:{booking.pk}",
            title=f"Cut {booking.code} {booking.title}, {sides}",
            start=booking.cut_on,
            note=f"{round((booking.play_s or 0) / 60)} minutes of music in all.",
            link=booking.get_absolute_url(),
            is_cancelled=booking.cancelled_at is not None,
        )
