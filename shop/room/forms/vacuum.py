"""Forms of the vacuum line."""

from typing import Any

from django import forms

from shop.duties.models import Duty
from shop.people.fields import QuantityField
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, NumberField
from shop.press.forms import PressForm
from shop.room.fields import note_field
from shop.room.models import LinePart, LineRules


def _duty(label: str) -> forms.ModelChoiceField:
    return forms.ModelChoiceField(
        Duty.objects.filter(is_active=True).order_by("name"), label=label, required=False, empty_label="None"
    )


class TakeBaselineForm(PressForm):
    since = DayField(label="From", help_text="Best the day on which the line was cleaned.")
    until = DayField(label="Through", required=False, help_text="Empty for today.")
    conditions = forms.CharField(
        label="Read under which conditions",
        max_length=200,
        help_text="Say what matters: pump warm, hose open, which disc. It is to be read so from now on.",
    )


class ChangeLinePartForm(ChangeForm):
    name = forms.CharField(label="What it is called here", max_length=60)
    duty = _duty("Care that sees to it")
    note = note_field(longest=200)
    is_active = forms.BooleanField(label="The line has it", required=False)

    def __init__(self, data: Any = None, *, person: Any, part: LinePart, **rest: Any) -> None:
        super().__init__(data, person=person, row=part, **rest)


class ChangeLineRulesForm(ChangeForm):
    talc_dew_c = QuantityField(
        "temperature",
        label="Talc is due from a dew point of",
        required=False,
        help_text="The shop's own. Empty for never.",
    )
    talc_days = NumberField(label="A treatment holds", unit="days", low=1, high=365, whole=True)
    talc_duty = _duty("Care that treats the line with talc")

    def __init__(self, data: Any = None, *, person: Any, row: LineRules, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
