"""Forms about the room."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.db import models

from shop.people.forms.people import UnitsForm
from shop.people.models import Paper
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField


def _zones() -> list[tuple[str, list[tuple[str, str]]]]:
    """Every zone under its part of the world."""
    parts: dict[str, list[tuple[str, str]]] = {}
    for zone in sorted(available_timezones()):
        part, _, place = zone.partition("/")
        if place and part not in {"Etc", "posix", "right", "SystemV", "US"}:
            parts.setdefault(part, []).append((zone, place.replace("_", " ").replace("/", ", ")))
    return [("Everywhere", [("UTC", "UTC")]), *sorted(parts.items())]


class ChangeRoomForm(ChangeForm, UnitsForm):
    name = forms.CharField(label="Name of the room", max_length=80)
    zone = forms.ChoiceField(
        label="Time zone", help_text="Days begin and end here. Times already kept are shown in the new zone too."
    )
    currency = forms.CharField(
        label="Currency",
        max_length=3,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
        help_text="Three letters, such as EUR or USD.",
    )
    paper = forms.ChoiceField(label="Paper in the printer", choices=Paper.choices, widget=forms.RadioSelect)

    field_order = ("name", "zone", "currency", "paper")
    fieldsets = (
        ("", ("name", "zone", "currency", "paper")),
        ("Units a new person starts with", ("pressure_unit", "temperature_unit", "liquid_unit", "length_unit")),
    )

    def __init__(self, data: Any = None, *, row: models.Model, **rest: Any) -> None:
        super().__init__(data, row=row, **rest)
        zones = _zones()
        kept = row.zone  # type: ignore[attr-defined]
        if not any(kept == zone for _, places in zones for zone, _ in places):
            zones.insert(0, ("Kept now", [(kept, kept)]))
        self.fields["zone"].choices = zones  # type: ignore[attr-defined]


class ChangeSignInRulesForm(ChangeForm):
    invitation_hours = NumberField(
        label="An invitation is good for",
        unit="hours",
        whole=True,
        low=1,
        high=720,
        help_text="72 hours are three days.",
    )
    tablet_idle_minutes = NumberField(
        label="A shared device locks when left alone for",
        unit="minutes",
        whole=True,
        low=1,
        high=120,
        help_text="What was typed on it is kept for whoever typed it.",
    )
    owners_need_second_factor = forms.BooleanField(
        label="Owners need a second factor",
        required=False,
        help_text="An owner without one sets it up on the next page they open, you too. Have your phone at hand.",
    )
