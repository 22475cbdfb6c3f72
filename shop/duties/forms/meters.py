"""Forms of meters, one for each action, named after it."""

from typing import Any

from django import forms

from shop.duties.models import Meter, MeterUnit
from shop.press.changing import ChangeForm
from shop.press.fields import MomentField, NumberField
from shop.press.forms import PressForm

#: The highest limit, in the shown unit: a hundred kilograms of chip, eleven years of cutting.
HIGHEST = 100_000


class LimitField(NumberField):
    """A limit typed in the unit the meter is shown in; cleans to the whole kept unit."""

    def __init__(self, unit: MeterUnit, **rest: Any) -> None:
        self.per_shown = unit.kept_per_shown
        super().__init__(low=0, high=HIGHEST, unit=unit.sign, required=False, **rest)

    def to_python(self, value: Any) -> int | None:
        number = super().to_python(value)
        return None if number is None else round(number * self.per_shown)

    def prepare_value(self, value: Any) -> Any:
        return f"{value / self.per_shown:g}" if isinstance(value, int) else value


class ResetMeterForm(PressForm):
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)


class ChangeMeterForm(ChangeForm):
    what_to_do = forms.CharField(label="What to do", max_length=300, required=False, widget=forms.Textarea)
    caution = forms.CharField(label="Caution", max_length=300, required=False, widget=forms.Textarea)

    def __init__(self, data: Any = None, *, person: Any, row: Meter, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        unit = MeterUnit(row.unit)
        care = LimitField(unit, label="Care from", help_text="The shop's own limit; empty for none.")
        hold = LimitField(unit, label="Hold from", help_text="The shop's own limit; empty for none.")
        self.fields = {"care_at": care, "hold_at": hold, **self.fields}
