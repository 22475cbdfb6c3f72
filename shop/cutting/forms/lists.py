"""Forms of the shop's own lists and limits."""

from typing import Any

from django import forms

from shop.cutting.actions.lists import HOURS_EXPECTED, LEVEL_DB
from shop.cutting.fields import TipRadiusField
from shop.cutting.models import Blame, StylusKind, Sureness
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.stock.forms.fields import CostField

BLAME_HELP = (
    "A side rejected for something against the stylus calls for care, for a chipped edge a hold, until somebody has "
    "looked the edge over."
)


class AddLatheForm(PressForm):
    name = forms.CharField(label="Name", max_length=60)


class ChangeLatheForm(ChangeForm):
    name = forms.CharField(label="Name", max_length=60)
    is_active = forms.BooleanField(label="In use", required=False)


class StylusKindFields(PlainForm):
    name = forms.CharField(label="Name", max_length=80, help_text="In trade words: “ruby, heated”.")
    expected_h = NumberField(
        label="About how many hours do you expect of a fresh edge?",
        low=HOURS_EXPECTED[0],
        high=HOURS_EXPECTED[1],
        unit="h",
        help_text="The shop's own figure. It counts less the more of your own lives there are.",
    )
    sureness = forms.ChoiceField(
        label="How sure are you of that?", choices=Sureness.choices, widget=forms.RadioSelect, initial=Sureness.ROUGH
    )
    tip_radius_um = TipRadiusField(
        help_text="Empty if you don't know it: only the weight of chip depends on it, and little."
    )


class AddStylusKindForm(StylusKindFields, PressForm):
    pass


class ChangeStylusKindForm(StylusKindFields, ChangeForm):
    is_active = forms.BooleanField(label="In use", required=False)


class TryGuessForm(PlainForm):
    """Another guess at the hours of a fresh edge, to see what it makes of the shop's own lives."""

    expected_h = NumberField(
        label="About how many hours do you expect?", low=HOURS_EXPECTED[0], high=HOURS_EXPECTED[1], unit="h"
    )
    sureness = forms.ChoiceField(label="How sure are you of that?", choices=Sureness.choices, widget=forms.RadioSelect)

    def __init__(self, data: Any = None, *, kind: StylusKind, **rest: Any) -> None:
        self.kind = kind
        super().__init__(data, initial={"expected_h": kind.expected_h, "sureness": kind.sureness}, **rest)

    def tried(self) -> StylusKind:
        """The kind with that guess; not to be saved."""
        said = self.cleaned_data
        return StylusKind(
            pk=self.kind.pk, name=self.kind.name, expected_h=said["expected_h"], sureness=said["sureness"]
        )


class AddRejectReasonForm(PressForm):
    name = forms.CharField(label="Reason", max_length=60)
    blame = forms.ChoiceField(
        label="It speaks against",
        choices=Blame.choices,
        widget=forms.RadioSelect,
        initial=Blame.OTHER,
        help_text=BLAME_HELP,
    )


class ChangeRejectReasonForm(ChangeForm):
    name = forms.CharField(label="Reason", max_length=60)
    blame = forms.ChoiceField(
        label="It speaks against", choices=Blame.choices, widget=forms.RadioSelect, help_text=BLAME_HELP
    )
    is_active = forms.BooleanField(label="In the list", required=False)


class PercentField(NumberField):
    """A chance typed in percent; cleans to 0 to 1. low, high: bounds of the chance."""

    def __init__(self, *, low: float = 0.0, high: float = 1.0, **rest: Any) -> None:
        super().__init__(low=round(low * 100, 6), high=round(high * 100, 6), unit="%", **rest)

    def to_python(self, value: Any) -> float | None:
        number = super().to_python(value)
        return None if number is None else number / 100

    def said(self, kept: Any) -> str:
        return f"{kept * 100:g}\u00a0%"

    def prepare_value(self, value: Any) -> Any:
        return f"{value * 100:g}" if isinstance(value, (int, float)) else value


class ChangeLimitsForm(ChangeForm):
    care_below = PercentField(label="Care when the chance to finish today's sides is below")
    hold_below = PercentField(label="Hold when it is below")
    days_ahead = NumberField(
        label="Hold bookings against blanks for so many days ahead", low=1, high=365, whole=True, unit="days"
    )
    noise_db = NumberField(
        label="An edge is noisy when a silent groove is above",
        low=LEVEL_DB[0],
        high=LEVEL_DB[1],
        unit="dB",
        required=False,
        help_text="Against this room's own reference. Empty for no limit.",
    )
    plating_days = NumberField(
        label="A master should go to plating within",
        low=1,
        high=365,
        whole=True,
        unit="days",
        required=False,
        help_text="After it was cut. Empty where what becomes of masters is not kept here.",
    )


class ChangeCostFiguresForm(ChangeForm):
    gas_side = CostField(
        label="Gas for one side",
        low=0,
        high=999_999,
        required=False,
        help_text="What a cylinder costs, over the sides that one lasts. Empty for not known.",
    )
    care_hour = CostField(
        label="Care for an hour of cutting",
        low=0,
        high=999_999,
        required=False,
        help_text="Wipes, solvent, oil and filters of a month, over the hours cut in it. Empty for not known.",
    )
    change_stylus = CostField(
        label="Work of changing a stylus",
        low=0,
        high=999_999,
        required=False,
        help_text="In good time, besides the stylus itself: the half hour, and the test cut. Empty for not known.",
    )
    spoiled_side = CostField(
        label="A side that its stylus spoils",
        low=0,
        high=999_999,
        required=False,
        help_text="Besides the blank, its gas and the change: the time, and what it sets back. Empty for not known.",
    )
