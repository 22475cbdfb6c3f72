"""The list of instruments, as it can be carried away. Their readings go out with all the others."""

from shop.carrying.lists import Export, Lines
from shop.room.models import Instrument


def _instruments(batch: list[Instrument]) -> Lines:
    return [
        (
            one.name,
            ", ".join(one.reads),
            one.every_min,
            one.added_by.name,
            one.added_at,
            one.heard_at,
            one.kept_at,
            one.kept,
            one.revoked_at,
            one.note,
        )
        for one in batch
    ]


EXPORTS = (
    Export(
        "instruments",
        "Instruments",
        (
            "Instrument", "May write", "Minutes between reports", "Added by", "Added", "Last heard", "Last kept",
            "Readings kept", "Revoked", "Note",
        ),
        lambda query: Instrument.objects.select_related("added_by"),
        ("id",),
        _instruments,
    ),
)  # fmt: skip
