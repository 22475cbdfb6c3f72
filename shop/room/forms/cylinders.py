"""Forms of cylinders."""

from django import forms

from shop.people.eyes import UnderEye
from shop.people.fields import QuantityField
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.forms import PressForm
from shop.room.contents import MOST_BAR
from shop.room.fields import FillTemperatureField, note_field


class AddCylinderForm(PressForm):
    mark = forms.CharField(label="Mark or number", max_length=40, help_text="What tells it from the others.")
    water_volume_l = NumberField(
        label="Stamped water volume",
        unit="l",
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
    delivered_on = DayField(label="Delivered on", required=False, help_text="Empty for today.")
    note = note_field()


class ConnectCylinderForm(UnderEye, PressForm):
    act = "change-cylinder"

    at = MomentField(label="Connected at", help_text="Empty for now.")


class EmptyCylinderForm(PressForm):
    at = MomentField(label="Taken off at", help_text="Empty for now.")


class ReturnCylinderForm(PressForm):
    on = DayField(label="Went back on", required=False, help_text="Empty for today.")
