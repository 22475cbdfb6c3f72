"""What of safety can be carried away: who read which sheet, suppliers' sheets, and reports."""

from shop.carrying.lists import Export, Lines
from shop.people.models import ENGINEERS, HANDS
from shop.safety import queries
from shop.safety.filters import IncidentFilter
from shop.safety.models import Container, Incident, Level, SheetRead, SupplierSheet


def _reads(batch: list[SheetRead]) -> Lines:
    return [
        (one.version.title, one.version.number, one.version.at, one.by.name, one.by.get_role_display(), one.at)
        for one in batch
    ]


def _incidents(batch: list[Incident]) -> Lines:
    came: dict[int, list[str]] = {}
    for note in queries.notes_of(batch):
        came.setdefault(note.incident_id, []).append(note.text)
    return [
        (
            one.pk,
            "near miss" if one.near_miss else "incident",
            one.get_kind_display(),
            one.at,
            one.told_at,
            one.by.name if one.by else "not signed",
            one.what,
            one.hurt,
            one.done,
            one.place.name if one.place else "",
            one.substance.name if one.substance else "",
            " / ".join(came.get(one.pk, [])),
            "closed" if one.is_closed else "open",  # type: ignore[attr-defined]
        )
        for one in batch
    ]


def _supplier_sheets(batch: list[SupplierSheet]) -> Lines:
    in_force = set(queries.supplier_sheets_in_force().values_list("pk", flat=True))
    return [
        (
            one.substance.name,
            one.supplier_name,
            one.revised_on,
            one.language,
            "withdrawn" if hasattr(one, "withdrawn") else "in force" if one.pk in in_force else "older",
            one.says_signal,
            ", ".join(one.says_pictograms),
            ", ".join(one.says_h),
            ", ".join(one.says_p),
            one.pages,
            one.at,
            one.by.name,
            one.note,
            one.digest,
        )
        for one in batch
    ]


def _containers(batch: list[Container]) -> Lines:
    return [
        (
            one.pk,
            one.substance.name,
            one.place.name,
            one.lot.code if one.lot else "",
            one.nominal_ml,
            one.left_ml,
            one.opened_at,
            one.opened_by.name,
            one.days_open,
            one.last_day,
            one.tare_g,
            one.density_kg_m3,
            one.density_source,
            one.note,
            one.ended_at,
            one.ended_by.name if one.ended_by else "",
            one.get_ended_how_display(),
            one.ended_note,
        )
        for one in batch
    ]


def _levels(batch: list[Level]) -> Lines:
    return [
        (
            one.container_id,
            one.container.substance.name,
            one.at,
            one.by.name,
            one.gross_g,
            None if one.share is None else 100 * one.share,
            one.ml,
            one.note,
        )
        for one in batch
    ]


#: In reports: who was hurt, and who told of it, is for those who work here.
EXPORTS = (
    Export(
        "containers",
        "Containers opened",
        (
            "Container", "Substance", "Place", "Lot", "Holds, ml", "Left, ml", "Opened", "Opened by", "Days open",
            "Last day", "Weight empty, g", "Density, kg/m3", "Where the density is from", "Note", "Finished",
            "Finished by", "What became of it", "Word on it",
        ),
        lambda query: queries.containers(),
        ("id",),
        _containers,
    ),
    Export(
        "levels",
        "Levels of containers",
        ("Container", "Substance", "When", "By", "Weighed, g", "By its mark, %", "Left, ml", "Note"),
        lambda query: Level.objects.select_related("container__substance", "by"),
        ("at", "id"),
        _levels,
    ),
    Export(
        "sheets-read",
        "Hazard sheets read",
        ("Sheet", "Version", "Approved", "Who", "Role", "Read"),
        lambda query: queries.reads(),
        ("id",),
        _reads,
        roles=ENGINEERS,
    ),
    Export(
        "supplier-sheets",
        "Suppliers' sheets",
        (
            "Substance", "Supplier", "Revised", "Language", "State", "Signal word", "Pictograms", "H statements",
            "P statements", "Pages", "Taken in", "By", "Note", "SHA-256 of the file",
        ),
        lambda query: SupplierSheet.objects.select_related("substance", "by", "withdrawn"),
        ("id",),
        _supplier_sheets,
    ),
    Export(
        "incidents",
        "Incidents",
        (
            "Report", "Which", "What sort of thing", "When", "Told", "By", "What happened", "Who was hurt",
            "Done at once", "Place", "Substance", "What came of it", "State",
        ),
        lambda query: IncidentFilter(query, queryset=queries.incidents()).qs,
        ("at", "id"),
        _incidents,
        guarded={"By": HANDS, "Who was hurt": HANDS},
    ),
)  # fmt: skip
