"""Forms about people and their settings."""

from typing import Any

from django import forms
from django.db import models

from shop.calc import units
from shop.people.fields import PREFERENCE
from shop.people.forms.own import OwnPassword, new_password_field
from shop.people.models import LengthUnit, LiquidUnit, Person, PressureUnit, Role, TemperatureUnit
from shop.press.changing import ChangeForm
from shop.press.forms import PressForm

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


class ChangePasswordForm(OwnPassword):
    password = new_password_field()


class SetPasswordForm(PressForm):
    password = new_password_field()


def name_field() -> forms.CharField:
    return forms.CharField(label="Name", max_length=80, help_text="As it should stand on signed checks.")


def email_field() -> forms.EmailField:
    return forms.EmailField(label="Mail address", required=False)


def role_field() -> forms.ChoiceField:
    return forms.ChoiceField(
        label="Role",
        choices=Role.choices,
        widget=forms.RadioSelect,
        help_text=(
            "An assistant does the daily work. An engineer also overrules and changes limits. An owner also changes "
            "people and the room."
        ),
    )


def sign_in_field(autocomplete: str) -> forms.CharField:
    widget = forms.TextInput(attrs={"autocomplete": autocomplete, "autocapitalize": "none", "spellcheck": "false"})
    return forms.CharField(label="Sign-in name", max_length=60, widget=widget)


class AddPersonForm(PressForm):
    name = name_field()
    sign_in = sign_in_field("off")
    role = role_field()
    email = email_field()
    password = new_password_field(
        "First password", "15 characters or more. Tell it to the person yourself, to be changed on the first day."
    )


class ChangePersonForm(ChangeForm):
    name = name_field()
    role = role_field()
    email = email_field()
    is_active = forms.BooleanField(
        label="May sign in",
        required=False,
        help_text="Without the tick the person is signed out everywhere. What they signed stays signed.",
    )


class SettleSameForm(PressForm):
    """Whose account is whose: another account, and whether it is the same human's."""

    other = forms.ModelChoiceField(
        label="The other account", queryset=Person.objects.none(), empty_label="Choose an account"
    )
    same = forms.TypedChoiceField(
        label="It belongs to",
        choices=[("yes", "the same human"), ("no", "somebody else")],
        coerce=lambda said: said == "yes",
        widget=forms.RadioSelect,
    )

    def __init__(self, data: Any = None, *, person: Any, about: Person, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        others: Any = self.fields["other"]
        others.queryset = Person.objects.exclude(pk=about.pk)
        others.label_from_instance = lambda other: f"{other.name} ({other.sign_in})"
