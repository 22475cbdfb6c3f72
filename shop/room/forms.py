from collections.abc import Mapping
from typing import Any, TypeVar

from django import forms

from shop.calc import units
from shop.people.eyes import UnderEye
from shop.people.fields import QuantityField
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.forms import PressForm
from shop.room.contents import MOST_BAR
from shop.room.fields import FillTemperatureField, ReadingField
from shop.room.kinds import KINDS, LIMITED
from shop.room.models import LIMIT_ORDER, GasUse, Limit, LimitKind, Reading, ReadingKind

R = TypeVar("R")


def _note(label: str = "Note", *, required: bool = False, longest: int = 300) -> forms.CharField:
    return forms.CharField(label=label, required=required, max_length=longest)


class TakeReadingsForm(PressForm):
    """Any of the room's readings at once; a box left empty is a reading not taken."""

    at = MomentField(label="Read at", help_text="Empty for now.")
    note = _note()

    def __init__(
        self, data: Any = None, *, person: Any, earlier: Mapping[ReadingKind, Reading] | None = None, **rest: Any
    ) -> None:
        super().__init__(data, person=person, **rest)
        for kind in KINDS:
            field = ReadingField(kind, required=False)
            field.speak_to(person)
            field.show_before((earlier or {}).get(kind))
            self.fields[str(kind)] = field
        self.order_fields([*KINDS, "at", "note"])
        self.fieldsets = [
            ("Gas", [ReadingKind.NITROGEN_BAR]),
            ("Air", [ReadingKind.ROOM_C, ReadingKind.ROOM_RH]),
            ("Suction", [ReadingKind.HOLD_DOWN_KPA, ReadingKind.CHIP_KPA]),
            ("Head", [ReadingKind.HEATER_MA]),
            ("When", ["at", "note"]),
        ]

    def typed(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        values = {kind: cleaned[kind] for kind in KINDS if cleaned.get(kind) is not None}
        return {"values": values, "at": cleaned["at"], "note": cleaned["note"]}


class CorrectReadingForm(PressForm):
    reason = _note("What was wrong with it", required=True)

    def __init__(self, data: Any = None, *, person: Any, reading: Reading, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        field = ReadingField(ReadingKind(reading.kind), label="What it should have been")
        field.speak_to(person)
        shown = units.show(field.kind, reading.value, field.unit)
        field.hint_before = f"Kept until now: {shown}"
        self.fields["value"] = field
        self.order_fields(["value", "reason"])


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
    note = _note()


class ConnectCylinderForm(UnderEye, PressForm):
    act = "change-cylinder"

    at = MomentField(label="Connected at", help_text="Empty for now.")


class EmptyCylinderForm(PressForm):
    at = MomentField(label="Taken off at", help_text="Empty for now.")


class ReturnCylinderForm(PressForm):
    on = DayField(label="Went back on", required=False, help_text="Empty for today.")


class ChangeLimitForm(ChangeForm):
    what_to_do = _note("What to do then")

    def __init__(self, data: Any = None, *, person: Any, row: Limit, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        about = LIMITED[LimitKind(row.kind)]
        labels = ("Hold below", "Care below", "Care above", "Hold above")
        for name, label in zip(LIMIT_ORDER, labels, strict=True):
            field = QuantityField(
                about.quantity, label=label, required=False, low=0 if about.possible[0] >= 0 else None
            )
            field.speak_to(person)
            self.fields[name] = field
        self.order_fields([*LIMIT_ORDER, "what_to_do"])


class ChangeGasUseForm(ChangeForm):
    side_g = QuantityField("mass", label="Nitrogen that a side takes", low=0, high=5000)
    reserve_bar = QuantityField("pressure", label="Change the cylinder below", low=0, high=MOST_BAR)
    low_percent = NumberField(
        label="A spare must stand ready from", unit="%", low=0, high=100, help_text="Of a full cylinder's gas left."
    )

    def kept(self, row: GasUse) -> dict[str, Any]:
        return {**super().kept(row), "low_percent": round(100 * row.low_share, 1)}

    def typed(self) -> dict[str, Any]:
        typed = super().typed()
        low_share = typed.pop("low_percent") / 100
        return {**typed, "low_share": low_share}
