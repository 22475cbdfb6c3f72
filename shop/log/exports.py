"""The log, carried away."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet

from shop.carrying.lists import Export, Lines
from shop.log.filters import NoteFilter
from shop.log.models import Note
from shop.log.queries import notes
from shop.people.models import HANDS


def _narrowed(query: Mapping[str, Any]) -> QuerySet[Note]:
    return NoteFilter(query, queryset=notes().prefetch_related("readings__person")).qs


def _lines(batch: list[Note]) -> Lines:
    return [
        (
            note.pk,
            note.at,
            note.by.name,
            note.get_kind_display(),
            ", ".join(str(one) for one in note.addressees.all()),
            "; ".join(thing.words for thing in note.things),
            note.text,
            note.corrects_id,
            ", ".join(one.person.name for one in note.readings.all()),
        )
        for note in batch
    ]


EXPORTS = (
    Export(
        "log",
        "The room's log",
        ("Note", "When", "By whom", "What it is", "For", "About", "Text", "Puts right", "Read by"),
        _narrowed,
        ("at", "id"),
        _lines,
        roles=HANDS,
    ),
)
