"""The instruments that report by themselves, and what they read last."""

from datetime import datetime

from django.db.models import Q, QuerySet, Subquery

from shop.room.models import Instrument, Reading, ReadingKind, RefusedReading

#: Kinds and causes of what was not kept, shown of one instrument: there are no more of them than fit here.
MOST_REFUSALS = 30


def instruments() -> QuerySet[Instrument]:
    """Those in use, by name."""
    return Instrument.objects.filter(revoked_at=None).select_related("added_by")


def revoked_instruments() -> QuerySet[Instrument]:
    """Those whose token was revoked, last first."""
    return Instrument.objects.exclude(revoked_at=None).select_related("revoked_by").order_by("-revoked_at", "-pk")


def is_missed(instrument: Instrument, now: datetime) -> bool:
    """Whether it should have reported since."""
    return instrument.missed_at is not None and instrument.missed_at < now


def last_read(instrument: Instrument) -> dict[ReadingKind, Reading]:
    """The last reading of each kind that this instrument took: one query, by index."""
    newest = Reading.objects.filter(instrument=instrument).order_by("-at").values("pk")
    wanted = Q()
    for kind in ReadingKind:
        wanted |= Q(pk=Subquery(newest.filter(kind=kind)[:1]))
    return {ReadingKind(reading.kind): reading for reading in Reading.objects.filter(wanted).order_by("kind")}


def refusals(instrument: Instrument) -> list[RefusedReading]:
    """What it sent that was not kept, by kind and cause, last first."""
    return list(instrument.refusals.all()[:MOST_REFUSALS])
