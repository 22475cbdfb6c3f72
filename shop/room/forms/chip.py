"""Forms of chip and its cans."""

from typing import Any

from django import forms

from shop.people.fields import QuantityField
from shop.press.changing import ChangeForm
from shop.press.fields import MomentField, NumberField
from shop.press.forms import PressForm
from shop.room.fields import note_field
from shop.room.models import ChipCan


def _where() -> forms.CharField:
    return forms.CharField(label="Where it stands", required=False, max_length=120)


def _limit_g() -> NumberField:
    return NumberField(
        label="Most chip in it",
        unit="g",
        low=1,
        high=20_000,
        whole=True,
        required=False,
        help_text="Reckoned dry. The shop's own limit, or what whoever takes it says. Empty for none.",
    )


def _limit_days() -> NumberField:
    return NumberField(
        label="Longest it stands here",
        unit="days",
        low=1,
        high=3650,
        whole=True,
        required=False,
        help_text="As local rules or whoever takes it say. Empty for none.",
    )


class StartChipCanForm(PressForm):
    mark = forms.CharField(label="Mark or number", max_length=40, help_text="As it is written on the can.")
    where = _where()
    limit_g = _limit_g()
    limit_days = _limit_days()
    at = MomentField(label="Started at", help_text="Empty for now.")


class ChangeChipCanForm(ChangeForm):
    where = _where()
    limit_g = _limit_g()
    limit_days = _limit_days()

    def __init__(self, data: Any = None, *, person: Any, can: ChipCan, **rest: Any) -> None:
        super().__init__(data, person=person, row=can, **rest)


class StoreChipForm(PressForm):
    can = forms.ModelChoiceField(ChipCan.objects.filter(handed_at=None), label="Into", empty_label="Choose a can")
    grams = QuantityField("mass", label="Chip, reckoned dry", low=0, high=20_000)
    wetted = forms.BooleanField(
        label="It is wetted through, and the can is covered but not sealed tight",
        required=False,
    )
    at = MomentField(label="Done at", help_text="Empty for now.")
    note = note_field()

    def __init__(
        self, data: Any = None, *, person: Any, grams: float | None, only: ChipCan | None, **rest: Any
    ) -> None:
        """grams: emptied and not stored yet; only: the can, where one alone is in use."""
        super().__init__(data, person=person, **rest)
        self.fields["grams"].initial = grams
        self.fields["can"].initial = only
        if grams:
            self.fields["grams"].help_text = "What the trap's meter told when it was emptied."


class TakeBackChipForm(PressForm):
    why = note_field("What was wrong with it", required=True)


class TakeBackCanForm(PressForm):
    why = note_field("Why it is taken back", required=True)


class HandOverChipForm(PressForm):
    taken_by = forms.CharField(label="Who took it", max_length=120, help_text="The firm, and the person.")
    papers = forms.CharField(
        label="Papers", max_length=200, required=False, help_text="A number of the receipt or transport paper."
    )
    at = MomentField(label="Taken at", help_text="Empty for now.")
