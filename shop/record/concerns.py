"""What the record is worried about: that somebody changed it."""

from collections.abc import Iterator
from datetime import datetime

from django.urls import reverse

from shop.concern import Concern, Grade
from shop.press.record import record_fault


def concerns(now: datetime) -> Iterator[Concern]:
    """A chain that does not hold: a note, for it says nothing against cutting. No query on a page of somebody's."""
    if fault := record_fault():
        yield Concern(
            key="record:broken",
            grade=Grade.NOTE,
            subject="Record",
            headline="The record of who did what was changed from outside",
            reason=f"Followed from its first line, {fault}. The program never changes a line.",
            what_to_do="Find out who had the database in hand. Compare with an export or a backup from before.",
            link=reverse("record:record"),
        )
