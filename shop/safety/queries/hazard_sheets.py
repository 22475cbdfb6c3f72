"""The room's own sheets: which version is in force, and what is to be said of a sheet that has none."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet

from shop import clock
from shop.safety.models import HazardSheet, SheetVersion


def latest_versions() -> QuerySet[SheetVersion]:
    """The latest version of each sheet that has one, whether or not it is in force."""
    later = SheetVersion.objects.filter(sheet=OuterRef("sheet"), number__gt=OuterRef("number"))
    found = SheetVersion.objects.filter(~Exists(later))
    return found.select_related("sheet__substance", "by", "written_by", "withdrawn__by")


def versions_in_force(day: date | None = None) -> QuerySet[SheetVersion]:
    """What is in force on a day (today), in the order of the sheets.

    Of each sheet the latest version alone, unless it was withdrawn or has run out, or the sheet was stopped: one that
    was superseded never comes back by itself.
    """
    held = Q(until=None) | Q(until__gte=day or clock.today())
    kept = latest_versions().filter(held, withdrawn=None, sheet__is_active=True)
    return kept.order_by("sheet__order", "sheet__title")


def version_in_force(sheet: HazardSheet, day: date | None = None) -> SheetVersion | None:
    """The version of this sheet that is in force on a day (today), if one is."""
    return versions_in_force(day).filter(sheet=sheet).first()


@dataclass(frozen=True)
class SheetState:
    """A sheet, its latest version, and whether that is in force on the day it was asked for."""

    sheet: HazardSheet
    latest: SheetVersion | None
    day: date

    @property
    def has_run_out(self) -> bool:
        return self.latest is not None and self.latest.until is not None and self.latest.until < self.day

    @property
    def is_withdrawn(self) -> bool:
        return self.latest is not None and hasattr(self.latest, "withdrawn")

    @property
    def in_force(self) -> SheetVersion | None:
        """The version in force, if there is one."""
        if not self.sheet.is_active or self.is_withdrawn or self.has_run_out:
            return None
        return self.latest

    @property
    def words(self) -> str:
        """In two or three words how it stands."""
        if not self.sheet.is_active:
            return "No longer kept"
        if self.in_force is not None:
            return "In force"
        if self.latest is None:
            return "Draft, not in force"
        return "Withdrawn, not in force" if self.is_withdrawn else "Run out, not in force"


def sheet_states(day: date | None = None) -> list[SheetState]:
    """Every sheet in its order, those no longer kept last. Two queries."""
    day = day or clock.today()
    latest = {version.sheet_id: version for version in latest_versions()}
    sheets = HazardSheet.objects.select_related("substance").order_by("-is_active", "order", "title")
    return [SheetState(sheet, latest.get(sheet.pk), day) for sheet in sheets]
