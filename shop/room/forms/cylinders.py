"""Forms of cylinders."""

from datetime import UTC, datetime
from typing import Any

from django import forms

from shop.people.eyes import UnderEye
from shop.people.fields import LitresField, QuantityField
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.forms import PressForm
from shop.room.contents import MOST_BAR
from shop.room.fields import FillTemperatureField, ReadingField, note_field
from shop.room.models import Cylinder, Gas, ReadingKind


def _owner() -> forms.CharField:
    return forms.CharField(
        label="Whose it is", required=False, max_length=80, help_text="The supplier who lends it; empty for your own."
    )


def _rent() -> forms.DecimalField:
    return forms.DecimalField(
        label="Rent a month",
        required=False,
        min_value=0,
        max_digits=10,
        decimal_places=2,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        help_text="In the room's currency.",
    )


def _stamp() -> forms.CharField:
    return forms.CharField(
        label="Last test, as stamped",
        required=False,
        max_length=20,
        help_text="Month and year on the shoulder, like 06-19; a star after it as *.",
    )


def _test_years() -> NumberField:
    return NumberField(
        label="A test holds",
        unit="years",
        low=1,
        high=30,
        whole=True,
        required=False,
        help_text="The supplier knows; often 5 or 10.",
    )


class AddCylinderForm(PressForm):
    gas = forms.ChoiceField(
        label="What the label says",
        choices=[*Gas.choices, ("other", "Something else, or there is no label")],
        widget=forms.RadioSelect,
        error_messages={"required": "Look at the label: only it says what is in the cylinder."},
    )
    mark = forms.CharField(label="Mark or number", max_length=40, help_text="What tells it from the others.")
    water_volume_l = LitresField(
        label="Stamped water volume",
        low=0,
        high=500,
        help_text="On the shoulder of the cylinder, often after WC or V. Not the volume of the gas.",
    )
    service_bar = QuantityField(
        "pressure", label="Service pressure", low=0, high=MOST_BAR, help_text="Stamped on the shoulder too."
    )
    fill_bar = QuantityField(
        "pressure",
        label="Pressure when full",
        low=0,
        high=MOST_BAR,
        help_text="From the supplier's label or delivery note.",
    )
    # From memory: fills are mostly stated at 15 °C in Europe and at 70 °F in the United States.
    fill_c = FillTemperatureField(
        label="At a temperature of",
        low=-20,
        high=65,
        initial=15.0,
        help_text="At which both pressures are meant; on the label, often 15 °C or 70 °F.",
    )
    owner = _owner()
    rent_month = _rent()
    stamp = _stamp()
    test_years = _test_years()
    delivered_on = DayField(label="Delivered on", required=False, help_text="Empty for today.")
    note = note_field()

    fieldsets = (
        ("The cylinder", ("mark", "gas", "water_volume_l", "service_bar")),
        ("Its fill", ("fill_bar", "fill_c", "delivered_on")),
        ("Whose it is", ("owner", "rent_month", "stamp", "test_years", "note")),
    )


class ChangeCylinderForm(ChangeForm):
    owner = _owner()
    rent_month = _rent()
    stamp = _stamp()
    test_years = _test_years()
    note = note_field()

    def __init__(self, data: Any = None, *, person: Any, cylinder: Cylinder, **rest: Any) -> None:
        super().__init__(data, person=person, row=cylinder, **rest)
        if not person.is_engineer:  # what it costs is shown to engineers only, and so is not theirs to change
            del self.fields["rent_month"]

    def kept(self, row: Cylinder) -> dict[str, Any]:
        return {**super().kept(row), "stamp": f"{row.tested_on:%m-%Y}" if row.tested_on else ""}

    def typed(self) -> dict[str, Any]:
        return {"rent_month": self.row.rent_month, **super().typed()}


class ConnectCylinderForm(UnderEye, PressForm):
    act = "change-cylinder"

    at = MomentField(label="Connected at", help_text="Empty for now.")


class EmptyCylinderForm(PressForm):
    at = MomentField(label="Taken off at", help_text="Empty for now.")


class ReturnCylinderForm(PressForm):
    on = DayField(label="Went back on", required=False, help_text="Empty for today.")


class BeginStandingTestForm(PressForm):
    gauge_bar = ReadingField(ReadingKind.NITROGEN_BAR, label="Gauge", help_text="Cylinder valve open, nothing drawing.")
    celsius = QuantityField(
        "temperature",
        label="Temperature beside the cylinder",
        help_text="It should have stood in the same air for an hour or more.",
    )
    at = MomentField(label="Read at", help_text="Empty for now.")


class EndStandingTestForm(BeginStandingTestForm):
    pass


class ExplainLossForm(PressForm):
    """Carries the moment up to which gas went, as it stood on the page, so that no later loss is explained with it."""

    until = forms.CharField(widget=forms.HiddenInput, required=False)
    what = note_field("What it was", required=True)

    def __init__(self, data: Any = None, *, person: Any, until: datetime | None, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.fields["until"].initial = until.isoformat() if until else ""

    def clean_until(self) -> datetime:
        try:
            return datetime.fromisoformat(self.cleaned_data["until"]).astimezone(UTC)
        except (ValueError, OverflowError) as wrong:
            raise forms.ValidationError("The page lost track of what it showed. Open it afresh.") from wrong


class DropStandingTestForm(PressForm):
    why = note_field("Why it is dropped", required=True)
