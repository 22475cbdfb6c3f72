"""Forms of instruments that report by themselves."""

from typing import Any

from django import forms

from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.room.actions.instruments import MOST_MINUTES
from shop.room.fields import note_field
from shop.room.kinds import KINDS
from shop.room.models import Instrument


class AddInstrumentForm(PressForm):
    name = forms.CharField(label="What you call it", max_length=60, help_text="Such as: the thermometer by the lathe.")
    kinds = forms.MultipleChoiceField(
        label="What it may write",
        choices=[(str(kind), about.name) for kind, about in KINDS.items()],
        widget=forms.CheckboxSelectMultiple,
        help_text="Whatever else it sends is refused.",
    )
    every_min = NumberField(
        label="How often it reports",
        low=1,
        high=MOST_MINUTES,
        whole=True,
        unit="minutes",
        required=False,
        help_text="After three of these times without a reading it is told as missing. Leave it empty for a logger "
        "whose files are brought by hand.",
    )
    note = note_field()


class ChangeInstrumentForm(AddInstrumentForm, ChangeForm):
    def kept(self, row: Instrument) -> dict[str, Any]:
        return {**super().kept(row), "kinds": [str(kind) for kind in row.reads]}


class RevokeInstrumentForm(PressForm):
    """A press with nothing to type."""
