"""What time it is.

Everything asks this module, so that the demo can live through fifteen months in half a minute and a test can stand
on either side of midnight. Times are aware and in UTC; days are the days of the room's zone, which the room's
middleware (or `in_zone`) activates.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

_moved_to: ContextVar[datetime | None] = ContextVar("moved_to", default=None)


def now() -> datetime:
    """The present moment, aware, in UTC; the moved one inside `moved`."""
    return _moved_to.get() or timezone.now()


def today() -> date:
    """The day it is in the zone now active."""
    return timezone.localdate(now())


def day_of(moment: datetime) -> date:
    """The day on which an aware `moment` falls in the zone now active."""
    return timezone.localdate(moment)


def zone_name() -> str:
    """The name of the zone now active, as it is looked up by. Django's own name for one that never changes its offset
    is an abbreviation ("-01"), by which no zone is found."""
    return str(timezone.get_current_timezone())


def monday_of(moment: datetime) -> date:
    """The Monday of the week a moment falls in, in the room's zone."""
    day = day_of(moment)
    return day - timedelta(days=day.weekday())


def day_bounds(day: date) -> tuple[datetime, datetime]:
    """First instant of `day` and of the day after it, in the zone now active: 23 to 25 hours apart."""
    zone = timezone.get_current_timezone()
    start, end = (datetime.combine(d, time(), tzinfo=zone) for d in (day, day + timedelta(days=1)))
    return start, end


def change_at(local: datetime) -> tuple[datetime, datetime] | None:
    """What the clocks of the zone now active showed before and after they were changed over the naive `local`.

    None where that time came once. The first is the later of the two where it came twice, the earlier where it was
    skipped; both are naive.
    """
    zone = timezone.get_current_timezone()
    first, second = local.replace(tzinfo=zone, fold=0).utcoffset(), local.replace(tzinfo=zone, fold=1).utcoffset()
    if first is None or second is None or first == second:
        return None
    # The change lies between the two readings of `local`: halve it until it is found to the second.
    low, high = sorted((local - first, local - second))
    low, high = low.replace(microsecond=0), high.replace(microsecond=0)
    before = low.replace(tzinfo=UTC).astimezone(zone).utcoffset()
    while high - low > timedelta(seconds=1):
        middle = low + timedelta(seconds=(high - low) // timedelta(seconds=2))
        if middle.replace(tzinfo=UTC).astimezone(zone).utcoffset() == before:
            low = middle
        else:
            high = middle
    return high + first, high + second


def both_of(local: datetime) -> tuple[datetime, datetime] | None:
    """The two moments, aware, at which the clocks showed the naive `local`; None where it came once or never."""
    change = change_at(local)
    if change is None or change[0] < change[1]:
        return None
    zone = timezone.get_current_timezone()
    return local.replace(tzinfo=zone, fold=0), local.replace(tzinfo=zone, fold=1)


@contextmanager
def moved(to: datetime) -> Iterator[None]:
    """Make it `to` (aware) within the block, for this thread or task only."""
    if timezone.is_naive(to):
        raise ValueError("to must be an aware datetime")
    token = _moved_to.set(to)
    try:
        yield
    finally:
        _moved_to.reset(token)


@contextmanager
def in_zone(name: str) -> Iterator[None]:
    """Let days be those of the named zone within the block."""
    with timezone.override(ZoneInfo(name)):
        yield
