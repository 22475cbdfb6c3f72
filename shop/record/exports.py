"""The record, carried away: each line with its digest, so that it can be held against the record later."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet

from shop.carrying.lists import Export, Lines
from shop.people.models import OWNERS
from shop.press.models import Line
from shop.record.filters import RecordFilter
from shop.record.queries import lines


def _narrowed(query: Mapping[str, Any]) -> QuerySet[Line]:
    return RecordFilter(query, queryset=lines()).qs


def _lines(batch: list[Line]) -> Lines:
    return [(one.number, one.at, one.who, one.act, one.thing, one.said, one.before, one.digest) for one in batch]


EXPORTS = (
    Export(
        "record",
        "Record of who did what",
        ("Line", "When", "Who", "What was done", "To what", "What was given and what changed", "Before", "Digest"),
        _narrowed,
        ("number",),
        _lines,
        roles=OWNERS,
    ),
)
