"""What the room worries about of its instruments: that one has fallen silent."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop.concern import Concern, Grade
from shop.room.models import Instrument
from shop.room.wording import minutes_words, moment_words
from shop.topic import Row, Topic, midnight, moment


def _rows() -> Iterable[QuerySet[Any]]:
    """Those from which nothing will have been kept for too long by the day's end, by their own interval."""
    yield Instrument.objects.filter(missed_at__lt=midnight(days=1)).annotate(
        told=JSONObject(pk="pk", name="name", every="every_min", heard="heard_at", kept="kept_at", missed="missed_at")
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    """A note each, for it says nothing of the room; that a morning's reading is missing is the check's to say."""
    for row in rows:
        if moment(row["missed"]) >= now:
            continue
        heard, kept = (moment(row[name]) if row[name] else None for name in ("heard", "kept"))
        every = f"It should report every {minutes_words(row['every'])}."
        if heard is not None and heard != kept:
            reason = f"It was heard {moment_words(heard)}, but nothing it sent then was kept. {every}"
            what = "Look at its page: what it sent is refused there with the reason."
        elif kept is not None:
            reason = f"Its last reading came {moment_words(kept)}. {every}"
            what = "Look at its power and its network. Until it is back, read by eye what it reads."
        else:
            reason = f"It has not reported yet. {every}"
            what = "See that it has its token and the address of this room."
        yield Concern(
            key=f"room:instrument:{row['pk']}",
            grade=Grade.NOTE,
            subject="Instruments",
            headline=f"{row['name']} has fallen silent" if kept else f"{row['name']} has kept no reading yet",
            reason=reason,
            what_to_do=what,
            link=reverse("room:instrument", args=[row["pk"]]),
        )


TOPICS = (Topic(_rows, _worries),)
