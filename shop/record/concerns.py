"""What the record is worried about: that somebody changed it."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from django.db.models import QuerySet
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop.concern import Concern, Grade
from shop.press.models import RecordHead
from shop.topic import Row, Topic


def _rows() -> Iterable[QuerySet[Any]]:
    """What the last look through the chain found wrong."""
    yield RecordHead.objects.exclude(fault="").annotate(told=JSONObject(fault="fault"))


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    """A note, for it says nothing against cutting."""
    for row in rows:
        yield Concern(
            key="record:broken",
            grade=Grade.NOTE,
            subject="Record",
            headline="The record of who did what was changed from outside",
            reason=f"Followed from its first line, {row['fault']}. The program never changes a line.",
            what_to_do="Find out who had the database in hand. Compare with an export or a backup from before.",
            link=reverse("record:record"),
        )


TOPICS = (Topic(_rows, _worries),)
