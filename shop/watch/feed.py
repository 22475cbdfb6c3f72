"""The calendar feed (RFC 5545): what stands in the room's calendar, for the calendar program of a phone.

The sweep's neighbour `refresh` keeps what the feed says in rows, so that reading it changes nothing: a happening that
changed counts up its sequence, one that vanished stays for a while, shown as cancelled.
"""

import hashlib
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q, QuerySet
from icalendar import Calendar, Event, Timezone

from shop import clock
from shop.happening import Happening, gather
from shop.people.models import Person
from shop.people.queries import the_room
from shop.people.secrets import digest_of
from shop.watch import words
from shop.watch.models import FeedEntry, FeedKey

#: How long a happening stays in the feed after its day, and a cancelled one after it was cancelled.
KEPT = timedelta(days=60)
#: How far the zone's clock changes are written out around the present.
_ZONE_FROM, _ZONE_TO = timedelta(days=400), timedelta(days=1200)

_FACTS = ("title", "day", "start", "minutes", "note", "link", "is_cancelled")


def refresh(now: datetime | None = None) -> int:
    """Bring the kept entries up to date with the happenings at `now`; how many changed."""
    now = now or clock.now()
    told = {happening.uid: happening for happening in gather(now)}
    with transaction.atomic():
        kept = {entry.uid: entry for entry in FeedEntry.objects.select_for_update()}
        new = [
            _entry(happening, now) for uid, happening in told.items() if uid not in kept and not happening.is_cancelled
        ]
        changed = [entry for uid, entry in kept.items() if _differs(entry, told.get(uid), now)]
        FeedEntry.objects.bulk_create(new, batch_size=400)
        FeedEntry.objects.bulk_update(changed, [*_FACTS, "sequence", "stamp"], batch_size=400)
        _forget(now)
    return len(new) + len(changed)


def _facts_of(happening: Happening) -> dict[str, object]:
    moment = happening.start if isinstance(happening.start, datetime) else None
    return {
        "title": happening.title[:200],
        "day": None if moment else happening.start,
        "start": moment,
        "minutes": happening.minutes,
        "note": happening.note,
        "link": happening.link[:300],
        "is_cancelled": happening.is_cancelled,
    }


def _entry(happening: Happening, now: datetime) -> FeedEntry:
    return FeedEntry(uid=happening.uid, stamp=now, **_facts_of(happening))


def _differs(entry: FeedEntry, happening: Happening | None, now: datetime) -> bool:
    """Put what the happening says into its entry; whether that changed anything. One that is no more is cancelled,
    unless its day is over: what was done is not called off."""
    if happening is not None:
        facts = _facts_of(happening)
    elif _is_over(entry, now):
        return False
    else:
        facts = {"is_cancelled": True}
    if all(getattr(entry, name) == value for name, value in facts.items()):
        return False
    for name, value in facts.items():
        setattr(entry, name, value)
    entry.sequence += 1
    entry.stamp = now
    return True


def _is_over(entry: FeedEntry, now: datetime) -> bool:
    if entry.start is not None:
        return entry.start + timedelta(minutes=entry.minutes) < now
    return entry.day is not None and entry.day < clock.day_of(now)


def _forget(now: datetime) -> None:
    before = now - KEPT
    over = Q(start__lt=before) | Q(day__lt=clock.day_of(before)) | Q(is_cancelled=True, stamp__lt=before)
    FeedEntry.objects.filter(over).delete()


def entries() -> QuerySet[FeedEntry]:
    return FeedEntry.objects.order_by("uid")


def calendar(zone: str, name: str, kept: list[FeedEntry]) -> bytes:
    """The feed as a calendar program reads it: lines of at most 75 octets, each event with its zone's rules."""
    feed = Calendar()
    feed.add("prodid", "-//Latheside//room calendar//EN")
    feed.add("version", "2.0")
    feed.add("calscale", "GREGORIAN")
    feed.add("method", "PUBLISH")
    feed.add("x-wr-calname", name)
    feed.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    moments = [entry.start for entry in kept if entry.start is not None]
    if moments:
        feed.add_component(_zone(zone, min(moments).date(), max(moments).date()))
    for entry in kept:
        feed.add_component(_event(entry, ZoneInfo(zone)))
    return bytes(feed.to_ical())


def _zone(zone: str, first: date, last: date) -> Timezone:
    return Timezone.from_tzid(zone, first_date=first - _ZONE_FROM, last_date=last + _ZONE_TO)


def _event(entry: FeedEntry, zone: ZoneInfo) -> Event:
    event = Event()
    event.add("uid", f"{entry.uid}@latheside.invalid")
    event.add("dtstamp", entry.stamp.astimezone(UTC))
    event.add("sequence", entry.sequence)
    event.add("summary", entry.title)
    if entry.start is not None:
        start = entry.start.astimezone(zone)
        event.add("dtstart", start)
        event.add("duration", timedelta(minutes=entry.minutes))
    elif entry.day is not None:
        event.add("dtstart", entry.day)
    if entry.note:
        event.add("description", entry.note)
    event.add("url", words.address(entry.link))
    event.add("status", "CANCELLED" if entry.is_cancelled else "CONFIRMED")
    event.add("transp", "TRANSPARENT")
    return event


def etag(body: bytes) -> str:
    """A strong validator: equal exactly when the feed is the same to the byte."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


# The secret address ---------------------------------------------------------------------------------------------------


def whose(secret: str) -> Person | None:
    """The active person whose feed has this secret; None if nobody's has."""
    key = FeedKey.objects.select_related("person").filter(digest=digest_of(secret), person__is_active=True).first()
    return key.person if key else None


def body_for_room() -> bytes:
    room = the_room()
    return calendar(room.zone, room.name, list(entries()))
