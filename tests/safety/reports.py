"""Makers of reports."""

from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import HazardSheet, Incident, IncidentNote
from tests.makers import anyway


def report(by: Person, **other: Any) -> Incident:
    usual: dict[str, Any] = {"kind": "spill", "what": "A bottle fell over beside the lathe."}
    return actions.report_incident(by=by, once=uuid4(), **usual | other)


def note(by: Person, incident: Incident, text: str = "Looked at together.", **other: Any) -> IncidentNote:
    return anyway(actions.note_incident, by=by, incident=incident, text=text, **other)


def make_hazard_sheet(title: str = "Cut thread", **other: Any) -> HazardSheet:
    return HazardSheet.objects.create(**{"title": title, "slug": title.lower().replace(" ", "-")} | other)
