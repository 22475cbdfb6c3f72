"""What of the room can be carried away: readings, in the units they are kept in, and cylinders."""

from shop.calc import units
from shop.carrying.lists import Export, Lines
from shop.room import queries
from shop.room.filters import ReadingFilter
from shop.room.kinds import KINDS
from shop.room.models import Cylinder, Reading, ReadingKind


def _readings(batch: list[Reading]) -> Lines:
    for reading in batch:
        quantity = KINDS[ReadingKind(reading.kind)].quantity
        yield (
            reading.pk,
            reading.at,
            reading.recorded_at,
            reading.get_kind_display(),
            reading.value,
            units.label(quantity, units.default_unit(quantity)),
            reading.cylinder.mark if reading.cylinder else "",
            reading.by.name,
            reading.note,
            reading.corrects_id,
            not hasattr(reading, "corrected_by"),
        )


def _cylinders(batch: list[Cylinder]) -> Lines:
    return [
        (
            one.mark,
            one.state,
            one.water_volume_l,
            one.service_bar,
            one.fill_bar,
            one.fill_c,
            one.delivered_on,
            one.connected_at,
            one.empty_at,
            one.returned_on,
            one.note,
        )
        for one in batch
    ]


EXPORTS = (
    Export(
        "readings",
        "Readings",
        (
            "Number", "When", "Entered", "What", "Read", "Unit", "Cylinder", "Who", "Note", "Corrects number",
            "Counts",
        ),
        lambda query: ReadingFilter(query, queryset=queries.ledger()).qs,
        ("at", "id"),
        _readings,
    ),
    Export(
        "cylinders",
        "Cylinders",
        (
            "Cylinder", "State", "Water volume, l", "Service pressure, bar", "Pressure when full, bar",
            "Temperature of that, °C", "Delivered", "Connected", "Empty", "Returned", "Note",
        ),
        lambda query: Cylinder.objects.all(),
        ("id",),
        _cylinders,
    ),
)  # fmt: skip
