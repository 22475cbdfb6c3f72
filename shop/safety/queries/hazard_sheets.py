"""The room's own sheets: which version is in force, and what is to be said of a sheet that has none."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Exists, Expression, OuterRef, Q, QuerySet

from shop import clock
from shop.alongside import own_row
from shop.duties.sheets import Sheet
from shop.people import authority
from shop.people.models import ENGINEERS, HANDS, Person
from shop.recall import recalled
from shop.safety.models import HazardSheet, SafetyRules, SheetRead, SheetVersion

#: The authority that approving a sheet takes.
APPROVE = "approve-sheet"


def latest_versions() -> QuerySet[SheetVersion]:
    """The latest version of each sheet that has one, whether or not it is in force."""
    later = SheetVersion.objects.filter(sheet=OuterRef("sheet"), number__gt=OuterRef("number"))
    found = SheetVersion.objects.filter(~Exists(later))
    return found.select_related("sheet__substance", "by", "written_by", "withdrawn__by")


def versions_in_force(day: date | Expression | None = None) -> QuerySet[SheetVersion]:
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
    def title(self) -> str:
        """As the sheet in force is called; without one, as it is to be."""
        return self.in_force.title if self.in_force is not None else self.sheet.title

    @property
    def parts(self) -> Mapping[str, Any]:
        """What there is to read: what is in force, else what was approved last, else the draft."""
        return self.latest.parts if self.latest is not None else self.sheet.draft

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


def state_of(sheet: HazardSheet, day: date | None = None) -> SheetState:
    """How one sheet stands. One query."""
    return SheetState(sheet, latest_versions().filter(sheet=sheet).first(), day or clock.today())


def versions_of(sheet: HazardSheet) -> QuerySet[SheetVersion]:
    """All versions of a sheet, latest first, with how many people say to have read each (`read`)."""
    found = SheetVersion.objects.filter(sheet=sheet).select_related("by", "written_by", "withdrawn__by")
    return found.annotate(read=Count("reads")).order_by("-number")


# Approving ------------------------------------------------------------------------------------------------------------


@recalled
def safety_rules() -> SafetyRules:
    """The shop's rules; those of the model, at version 0, where nobody has set them."""
    return own_row(SafetyRules, version=0)


def others_who_approve(person: Person) -> list[Person]:
    """Who else may approve a sheet today, by name."""
    people = Person.objects.filter(is_active=True, role__in=ENGINEERS).exclude(pk=person.pk)
    return authority.holding(people, APPROVE, clock.today())


# Reading --------------------------------------------------------------------------------------------------------------


def still_to_read(person: Person) -> QuerySet[SheetVersion]:
    """What is in force and this person has not read; nothing for somebody who only looks in."""
    if not person.is_hand:
        return SheetVersion.objects.none()
    read = SheetRead.objects.filter(version=OuterRef("pk"), by=person)
    return versions_in_force().filter(~Exists(read))


def readers_of(version: SheetVersion) -> list[SheetRead]:
    """Who says to have read a version, first first."""
    return list(version.reads.select_related("by").order_by("at", "id"))


@dataclass(frozen=True)
class Reading:
    """Who of those who work here has read which sheet in force.

    versions: the columns; lines: each person, for each version the reading or None, and how many are open.
    """

    versions: list[SheetVersion]
    lines: list[tuple[Person, list[tuple[SheetVersion, SheetRead | None]], int]]


def reading() -> Reading:
    """Three queries."""
    versions = list(versions_in_force())
    people = list(Person.objects.filter(is_active=True, role__in=HANDS).order_by("name"))
    read = {
        (one.by_id, one.version_id): one
        for one in SheetRead.objects.filter(version__in=versions, by__in=[person.pk for person in people])
    }
    lines = []
    for person in people:
        cells = [(version, read.get((person.pk, version.pk))) for version in versions]
        lines.append((person, cells, sum(one is None for _, one in cells)))
    return Reading(versions, lines)


def reads() -> QuerySet[SheetRead]:
    """Every reading that was confirmed, with its sheet and who."""
    return SheetRead.objects.select_related("version", "version__sheet", "by").order_by("-id")


# What duties lead to --------------------------------------------------------------------------------------------------


def sheets_for_duties(slugs: Any) -> dict[str, Sheet]:
    """The kept sheets of these slugs, or all of them for None, as duties know them."""
    found = HazardSheet.objects.filter(is_active=True)
    if slugs is not None:
        found = found.filter(slug__in=list(slugs))
    return {sheet.slug: Sheet(sheet.title, sheet.get_absolute_url()) for sheet in found}
