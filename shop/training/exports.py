"""What of training can be carried away."""

from collections.abc import Mapping
from typing import Any

from django.db.models import QuerySet

from shop.carrying.lists import Export, Lines
from shop.training.models import Authority
from shop.training.queries import authorities


def _authorities(batch: list[Authority]) -> Lines:
    return [
        (
            one.act.name,
            one.person.name,
            one.starts_on,
            one.until,
            one.note,
            one.by.name,
            one.at,
            taken.from_day if (taken := getattr(one, "withdrawn", None)) else None,
            taken.why if taken else "",
            taken.by.name if taken else "",
        )
        for one in batch
    ]


def _asked(query: Mapping[str, Any]) -> QuerySet[Authority]:
    return authorities()


EXPORTS = (
    Export(
        "authorities",
        "Authorities",
        ("Act", "Who", "From", "Until", "Why", "Given by", "Given", "Taken back from", "Why taken back", "By"),
        _asked,
        ("id",),
        _authorities,
    ),
)
