"""Makers for the room's own sheets."""

from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.safety import actions, facts
from shop.safety.facts import Fact, Facts
from shop.safety.models import HazardSheet, Part, SafetyRules, SheetRead, SheetVersion, Substance

SOURCE = "common practice, no source"


def written(**other: str) -> Facts:
    """Every part of a sheet, as typed; a part by another text with its name (`never="Never. [a]"`), or "" for none."""
    typed = {part.value: f"Of {part.label.lower()}. [{SOURCE}]" for part in Part}
    typed |= {name.replace("_", "-"): text for name, text in other.items()}
    return {part: facts.read_part(text) for part, text in typed.items()}


def make_substance(name: str = "Quillspirit", **other: Any) -> Substance:
    usual = {"slug": name.lower(), "form": "liquid", "fire_use": "Powder.", "fire_never": "Water.", "fire_source": "a"}
    return Substance.objects.create(name=name, **{**usual, **other})


def make_sheet(by: Person, title: str = "Hot lamp", slug: str = "hot-lamp", **other: Any) -> HazardSheet:
    return actions.add_sheet(by=by, once=uuid4(), title=title, slug=slug, **other)


def write(by: Person, sheet: HazardSheet, parts: Facts | None = None, **other: Any) -> HazardSheet:
    """Write the draft, as the sheet stands now."""
    now = HazardSheet.objects.get(pk=sheet.pk)
    usual: dict[str, Any] = {"title": now.title, "note": "", "version": now.version}
    return actions.write_sheet(by=by, once=uuid4(), sheet=now, parts=parts or written(), **{**usual, **other})


def approve(by: Person, sheet: HazardSheet, **other: Any) -> SheetVersion:
    now = HazardSheet.objects.get(pk=sheet.pk)
    return actions.approve_sheet(by=by, once=uuid4(), sheet=now, **{"version": now.version, **other})


def make_in_force(author: Person, approver: Person, title: str = "Hot lamp", **other: Any) -> SheetVersion:
    """A sheet written by one and approved by another."""
    slug = title.lower().replace(" ", "-")
    sheet = write(author, make_sheet(author, title, slug, **other))
    return approve(approver, sheet)


def read(by: Person, version: SheetVersion) -> SheetRead:
    return actions.confirm_sheet_read(by=by, once=uuid4(), version=version)


def set_rules(**rules: Any) -> SafetyRules:
    SafetyRules.objects.update_or_create(pk=1, defaults=rules)
    return SafetyRules.objects.get(pk=1)


def fact(text: str, source: str = SOURCE, from_memory: bool = False) -> Fact:
    return Fact(text, source, from_memory)
