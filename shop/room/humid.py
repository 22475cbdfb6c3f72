"""Counting humid days, for the care that waits for them."""

from datetime import timedelta

from django.db import transaction

from shop import clock
from shop.duties import meters
from shop.duties.models import Tick
from shop.duties.queries import meter
from shop.people.queries import the_room
from shop.room.models import Limit, LimitKind, Reading, ReadingKind

#: Key of the meter that counts them.
HUMID = "humid"
#: A day is humid from here on where the shop has set no limit to its humidity (common practice, no source).
HUMID_FROM = 60.0
#: So many days back are looked through: a machine that was off counts what was read meanwhile.
_BACK = timedelta(days=31)


def humid_from() -> float:
    """The humidity from which on a day counts: where the shop's own care begins."""
    limit = Limit.objects.filter(kind=LimitKind.ROOM_RH).first()
    return limit.care_above if limit and limit.care_above is not None else HUMID_FROM


def count_humid_days() -> str:
    """Count each day on which the air was read to be humid, once, under the name of who read it first."""
    if meter(HUMID) is None:
        return "this room counts none"
    with clock.in_zone(the_room().zone), transaction.atomic():
        last = Tick.objects.filter(meter__key=HUMID, came__gt=0).order_by("-at").first()
        since = clock.now() - _BACK
        readings = Reading.objects.filter(kind=ReadingKind.ROOM_RH, value__gte=humid_from(), corrected_by=None)
        counted = {clock.day_of(last.at)} if last else set()
        found = 0
        for reading in readings.filter(at__gt=max(since, last.at) if last else since).order_by("at", "id"):
            day = clock.day_of(reading.at)
            if day not in counted:
                counted.add(day)
                found += 1
                said = f"{reading.value:g} % humidity"
                meters.advance(key=HUMID, amount=1, at=reading.at, by=reading.by, note=said)
    return f"{found} counted"
