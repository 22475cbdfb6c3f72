"""What of the room can be carried away: readings, in the units they are kept in, and cylinders."""

from django.db.models import Sum

from shop.calc import units
from shop.carrying.lists import Export, Lines
from shop.people.models import ENGINEERS, Person
from shop.room import queries
from shop.room.filters import ReadingFilter
from shop.room.kinds import KINDS
from shop.room.models import (
    ChipCan,
    ChipStored,
    Cylinder,
    ExplainedLoss,
    LineBaseline,
    Reading,
    ReadingKind,
    StandingTest,
)


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
            reading.instrument.name if reading.instrument else "",
            reading.beside_c,
            reading.note,
            reading.corrects_id,
            not hasattr(reading, "corrected_by"),
        )


def _cylinders(batch: list[Cylinder]) -> Lines:
    return [
        (
            one.mark,
            one.state,
            one.get_gas_display(),
            one.water_volume_l,
            one.service_bar,
            one.fill_bar,
            one.fill_c,
            one.owner,
            one.rent_month,
            one.tested_on,
            one.requalify_by,
            one.delivered_on,
            _name(one.delivered_by),
            one.connected_at,
            _name(one.connected_by),
            one.empty_at,
            _name(one.empty_by),
            one.returned_on,
            _name(one.returned_by),
            one.note,
        )
        for one in batch
    ]


def _name(person: Person | None) -> str:
    return person.name if person else ""


def _standing_tests(batch: list[StandingTest]) -> Lines:
    for test in batch:
        ends = queries.ends_of(test)
        found = queries.tightness(test.cylinder, ends) if ends else None
        yield (
            test.pk,
            test.cylinder.mark,
            test.first.at,
            test.first.by.name,
            getattr(test.first, "corrected_by", test.first).value,
            test.first_c,
            test.last.at if test.last else None,
            _name(test.last.by if test.last else None),
            ends.last_bar if ends else None,
            test.last_c,
            round(found.g_day, 1) if found else None,
            round(found.low_g_day, 1) if found else None,
            round(found.high_g_day, 1) if found else None,
            found.is_leak if found else None,
            test.why,
        )


def _explained_losses(batch: list[ExplainedLoss]) -> Lines:
    return [(one.pk, one.cylinder.mark, one.until, round(one.gone_g), one.what, one.at, one.by.name) for one in batch]


def _chip_cans(batch: list[ChipCan]) -> Lines:
    return [
        (
            one.mark,
            one.where,
            one.started_at,
            one.started_by.name,
            round((one.mg or 0) / 1000, 1),  # type: ignore[attr-defined]
            one.limit_g,
            one.limit_days,
            one.handed_at,
            _name(one.handed_by),
            one.taken_by,
            one.papers,
        )
        for one in batch
    ]


def _chip_stored(batch: list[ChipStored]) -> Lines:
    return [
        (one.pk, one.at, one.recorded_at, one.can.mark, one.grams, one.by.name, one.note, one.undoes_id)
        for one in batch
    ]


def _line_baselines(batch: list[LineBaseline]) -> Lines:
    return [
        (
            one.pk,
            one.get_kind_display(),
            round(one.target, 3),
            round(one.sd, 3),
            one.count,
            one.first_at,
            one.last_at,
            one.conditions,
            one.at,
            one.by.name,
        )
        for one in batch
    ]


EXPORTS = (
    Export(
        "readings",
        "Readings",
        (
            "Number", "When", "Entered", "What", "Read", "Unit", "Cylinder", "Who", "Instrument",
            "Temperature beside it, °C", "Note", "Corrects number", "Counts",
        ),
        lambda query: ReadingFilter(query, queryset=queries.ledger()).qs,
        ("at", "id"),
        _readings,
    ),
    Export(
        "cylinders",
        "Cylinders",
        (
            "Cylinder", "State", "Label", "Water volume, l", "Service pressure, bar", "Pressure when full, bar",
            "Temperature of that, °C", "Whose", "Rent a month", "Last test", "Test due", "Delivered", "Taken in by",
            "Connected", "Connected by", "Empty", "Marked empty by", "Returned", "Returned by", "Note",
        ),
        lambda query: Cylinder.objects.select_related("delivered_by", "connected_by", "empty_by", "returned_by"),
        ("id",),
        _cylinders,
        guarded={"Rent a month": ENGINEERS},
    ),
    Export(
        "standing-tests",
        "Standing tests of cylinders",
        (
            "Number", "Cylinder", "Begun", "By", "Gauge, bar", "Temperature, °C", "Ended", "Ended by",
            "Gauge at the end, bar", "Temperature at the end, °C", "Lost, g a day", "At least", "At most", "A leak",
            "Dropped because",
        ),
        lambda query: StandingTest.objects.select_related(
            "cylinder", "first__by", "first__corrected_by", "last__by", "last__corrected_by"
        ),
        ("id",),
        _standing_tests,
    ),
    Export(
        "explained-losses",
        "What nitrogen that went was",
        ("Number", "Cylinder", "Gone by", "Gone, g", "What it was", "Written down", "By"),
        lambda query: ExplainedLoss.objects.select_related("cylinder", "by"),
        ("id",),
        _explained_losses,
    ),
    Export(
        "line-baselines",
        "Baselines of the vacuum line",
        (
            "Number", "Point", "Clean, kPa", "Standard deviation, kPa", "Readings", "From", "Through", "Conditions",
            "Taken", "By",
        ),
        lambda query: LineBaseline.objects.select_related("by"),
        ("id",),
        _line_baselines,
    ),
    Export(
        "chip-stored",
        "Chip wetted and stored",
        ("Number", "Stored", "Entered", "Can", "Chip reckoned dry, g", "Who", "Note", "Takes back number"),
        lambda query: ChipStored.objects.select_related("can", "by"),
        ("at", "id"),
        _chip_stored,
    ),
    Export(
        "chip-cans",
        "Chip cans",
        (
            "Can", "Where", "Started", "By", "Chip reckoned dry, g", "Limit, g", "Limit, days", "Handed over",
            "Handed over by", "Taken by", "Papers",
        ),
        lambda query: ChipCan.objects.select_related("started_by", "handed_by").annotate(mg=Sum("stored__mg")),
        ("id",),
        _chip_cans,
    ),
)  # fmt: skip
