"""Suppliers' sheets: which is in force, and what lies beside it."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from shop.safety.models import Substance, SupplierSheet
from shop.safety.sheet_files.sections import TITLES, URGENT
from shop.safety.statements import statement


def _standing() -> QuerySet[SupplierSheet]:
    return SupplierSheet.objects.filter(withdrawn=None)


def supplier_sheets_in_force() -> QuerySet[SupplierSheet]:
    """Of each substance, in each language, the sheet of the latest revision that was not withdrawn.

    Of two of the same day, the one that was taken in later.
    """
    newer = Q(revised_on__gt=OuterRef("revised_on")) | Q(revised_on=OuterRef("revised_on"), pk__gt=OuterRef("pk"))
    later = _standing().filter(newer, substance=OuterRef("substance"), language=OuterRef("language"))
    return _standing().filter(~Exists(later)).select_related("substance", "supplier", "by")


def supplier_sheets_in_force_of(substances: Iterable[Substance]) -> dict[int, SupplierSheet]:
    """The sheet that counts for each of these substances, by its key: of those in force, the latest in any language."""
    found = supplier_sheets_in_force().filter(substance__in=list(substances)).order_by("revised_on", "pk")
    return {sheet.substance_id: sheet for sheet in found}


def supplier_sheet_in_force(substance: Substance) -> SupplierSheet | None:
    """The sheet that counts for a substance, if there is one."""
    return supplier_sheets_in_force_of([substance]).get(substance.pk)


def supplier_sheets_of(substance: Substance) -> QuerySet[SupplierSheet]:
    """All that was ever taken in for it, with who took it in and whether it was withdrawn."""
    return SupplierSheet.objects.filter(substance=substance).select_related("by", "withdrawn__by")


@dataclass
class Shelf:
    """A substance, its sheets in force (the latest first), and how many older ones are kept."""

    substance: Substance
    in_force: list[SupplierSheet] = field(default_factory=list)
    older: int = 0


def supplier_shelves() -> list[Shelf]:
    """Every substance that is kept here or has a sheet, by name, those that are no longer kept last. Two queries."""
    counted = Substance.objects.annotate(sheets=Count("supplier_sheets")).order_by("-is_active", "name")
    shelves = {one.pk: Shelf(one, older=one.sheets) for one in counted if one.is_active or one.sheets}
    for sheet in supplier_sheets_in_force().order_by("-revised_on", "-pk"):
        shelves[sheet.substance_id].in_force.append(sheet)
        shelves[sheet.substance_id].older -= 1
    return list(shelves.values())


@dataclass(frozen=True)
class Entry:
    """A section of a sheet: the page it begins on, None where it was not found."""

    number: int
    title: str
    page: int | None


def sections_of(sheet: SupplierSheet) -> list[Entry]:
    return [Entry(number, title, sheet.first_pages.get(str(number))) for number, title in TITLES.items()]


def urgent_sections_of(sheet: SupplierSheet) -> list[Entry]:
    """What is looked for when something has happened, as far as it was found."""
    found = [Entry(number, title, sheet.first_pages.get(str(number))) for number, title in URGENT.items()]
    return [one for one in found if one.page]


def statements_of(codes: Iterable[str]) -> list[tuple[str, str]]:
    """Codes with their texts."""
    return [(code, statement(code)) for code in codes]
