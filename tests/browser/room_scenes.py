"""Which reading, cylinder, can or instrument each page of the room is opened on."""

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet

from shop.room.models import (
    ChipCan,
    ChipStored,
    Cylinder,
    Instrument,
    LimitKind,
    LinePart,
    Reading,
    ReadingKind,
    StandingTest,
)


def _last(rows: QuerySet[Any]) -> int:
    return int(rows.order_by("-pk")[0].pk)


def full_cylinder() -> int:
    return _last(Cylinder.objects.filter(connected_at=None, returned_on=None))


def connected_cylinder() -> int:
    return _last(Cylinder.objects.filter(connected_at__isnull=False, empty_at=None, returned_on=None))


ROOM_SCENES: dict[str, Callable[[], Any]] = {
    "room:reading": lambda: ReadingKind.NITROGEN_BAR,
    "room:correct-reading": lambda: _last(Reading.objects.filter(corrected_by=None)),
    "room:cylinder": connected_cylinder,
    "room:empty-cylinder": connected_cylinder,
    "room:connect-cylinder": full_cylinder,
    **dict.fromkeys(
        ["room:change-chip-can", "room:hand-over-chip"], lambda: _last(ChipCan.objects.filter(handed_at=None))
    ),
    "room:take-baseline": lambda: ReadingKind.CHIP_KPA,
    "room:change-line-part": lambda: _last(LinePart.objects.all()),
    "room:take-back-can": lambda: _last(ChipCan.objects.filter(handed_at__isnull=False)),
    "room:take-back-chip": lambda: _last(ChipStored.objects.filter(undone_by=None)),
    "room:change-cylinder": connected_cylinder,
    "room:begin-standing-test": connected_cylinder,
    "room:explain-loss": connected_cylinder,
    **dict.fromkeys(
        ["room:end-standing-test", "room:drop-standing-test"], lambda: _last(StandingTest.objects.filter(last=None))
    ),
    "room:return-cylinder": lambda: _last(Cylinder.objects.filter(empty_at__isnull=False, returned_on=None)),
    "room:change-limit": lambda: LimitKind.DEW_POINT_C,
    **{
        f"room:{name}": lambda: Instrument.objects.get(name="Shelf logger").pk
        for name in ("instrument", "change-instrument", "take-in-file")
    },
    "room:revoke-instrument": lambda: Instrument.objects.get(name="Old thermometer").pk,
}
