"""Forms about people and the room."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.db import models

from shop.calc import units
from shop.people.fields import PREFERENCE
from shop.people.models import LengthUnit, LiquidUnit, Paper, PressureUnit, Role, TemperatureUnit
from shop.press.changing import ChangeForm
from shop.press.forms import PressForm
from shop.press.plain import PlainWords


class SignInForm(PlainWords, AuthenticationForm):
    """Sign-in name and password. One answer for an unknown name, a wrong password and someone switched off."""

    #: What stands over its refusals: there is nothing to save here.
    refused = "Not signed in"
    error_messages = {
        "invalid_login": "That name and password do not go together. Mind small and capital letters in the password.",
        "inactive": "That name and password do not go together. Mind small and capital letters in the password.",
    }

    def __init__(self, request: Any = None, *args: Any, **rest: Any) -> None:
        super().__init__(request, *args, **rest)
        self.fields["username"].label = "Sign-in name"
        self.fields["username"].widget = forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false", "maxlength": 60}
        )
        self.fields["password"].label = "Password"


#: What shows a choice of unit at work: a kind of quantity, one stored value of it, and what that is.
_EXAMPLES = {
    "pressure_unit": ("pressure", 150.0, "a gauge at"),
    "temperature_unit": ("temperature", 21.5, "a room at"),
    "liquid_unit": ("liquid", 1000.0, "a bottle of"),
    "length_unit": ("length", 355.6, "a blank of"),
}
_UNITS: dict[str, type[models.TextChoices]] = {
    "pressure_unit": PressureUnit,
    "temperature_unit": TemperatureUnit,
    "liquid_unit": LiquidUnit,
    "length_unit": LengthUnit,
}


def _unit_field(name: str, label: str) -> forms.ChoiceField:
    """A choice between two units, each with the same thing said in it."""
    kind, stored, thing = _EXAMPLES[name]
    offered = _UNITS[name].choices
    choices = [(unit, f"{label}: {thing} {units.show(kind, stored, unit)}") for unit, label in offered]
    return forms.ChoiceField(label=label, choices=choices, widget=forms.RadioSelect)


class UnitsForm(PressForm):
    """The four choices of unit."""

    pressure_unit = _unit_field("pressure_unit", "Pressure")
    temperature_unit = _unit_field("temperature_unit", "Temperature")
    liquid_unit = _unit_field("liquid_unit", "Liquids")
    length_unit = _unit_field("length_unit", "Lengths")


class SettingsForm(UnitsForm):
    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        for name in PREFERENCE.values():
            self.fields[name].initial = getattr(person, name)


def _new_password_field(label: str = "New password", more: str = "") -> forms.CharField:
    hint = "15 characters or more. A few words that nobody would guess are easier to type than signs."
    widget = forms.PasswordInput(attrs={"autocomplete": "new-password"})
    return forms.CharField(label=label, strip=False, widget=widget, help_text=more or hint)


class ChangePasswordForm(PressForm):
    old_password = forms.CharField(
        label="Password now",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = _new_password_field()


class SetPasswordForm(PressForm):
    password = _new_password_field()


def _name_field() -> forms.CharField:
    return forms.CharField(label="Name", max_length=80, help_text="As it should stand on signed checks.")


def _email_field() -> forms.EmailField:
    return forms.EmailField(label="Mail address", required=False)


def _role_field() -> forms.ChoiceField:
    return forms.ChoiceField(
        label="Role",
        choices=Role.choices,
        widget=forms.RadioSelect,
        help_text=(
            "An assistant does the daily work. An engineer also overrules and changes limits. An owner also changes "
            "people and the room."
        ),
    )


class AddPersonForm(PressForm):
    name = _name_field()
    sign_in = forms.CharField(
        label="Sign-in name",
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    role = _role_field()
    email = _email_field()
    password = _new_password_field(
        "First password", "15 characters or more. Tell it to the person yourself, to be changed on the first day."
    )


class ChangePersonForm(ChangeForm):
    name = _name_field()
    role = _role_field()
    email = _email_field()
    is_active = forms.BooleanField(
        label="May sign in",
        required=False,
        help_text="Without the tick the person is signed out everywhere. What they signed stays signed.",
    )


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
