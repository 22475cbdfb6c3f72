"""Forms about styli."""

from typing import Any

from django import forms

from shop import clock
from shop.cutting import queries
from shop.cutting.models import EndReason, Lathe, StylusKind
from shop.people.eyes import UnderEye
from shop.press.fields import DayField, MomentField
from shop.press.forms import PressForm
from shop.stock.models import Lot


class LotChoice(forms.ModelChoiceField):
    def label_from_instance(self, lot: Lot) -> str:
        state = "On hold · " if lot.is_held else "Past its date · " if lot.is_past_date(clock.today()) else ""
        return f"{state}{lot.item}, lot {lot.code} ({lot.on_hand} left)"


class AddStylusForm(PressForm):
    mark = forms.CharField(label="Mark on the box or shank", max_length=40)
    kind = forms.ModelChoiceField(StylusKind.objects.filter(is_active=True), label="Kind", empty_label=None)
    lot = LotChoice(
        Lot.objects.none(),
        label="Out of stock lot",
        required=False,
        empty_label="none: it was not kept in stock",
        help_text="One is used from that lot.",
    )
    received_on = DayField(label="Came in on")
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        lots = queries.stylus_lots()
        self.fields["lot"].queryset = lots  # type: ignore[attr-defined]
        if not lots:
            del self.fields["lot"]
        self.fields["received_on"].initial = clock.today


class FitStylusForm(UnderEye, PressForm):
    act = "fit-stylus"

    lathe = forms.ModelChoiceField(
        Lathe.objects.filter(is_active=True), label="Lathe", empty_label=None, widget=forms.RadioSelect
    )
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        lathes = list(self.fields["lathe"].queryset)  # type: ignore[attr-defined]
        if lathes:
            self.fields["lathe"].initial = lathes[0].pk


class TakeOffStylusForm(PressForm):
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)


class LookOverStylusForm(PressForm):
    seen = forms.CharField(
        label="What was seen", max_length=300, help_text="Kept with your name and the time, beside the stylus's life."
    )


class RetireStylusForm(PressForm):
    reason = forms.ChoiceField(
        label="Why",
        choices=EndReason.choices,
        widget=forms.RadioSelect,
        help_text="Only “worn or noisy” counts as an end for expected life; the others say “at least so long”.",
    )
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)


class ReinstateStylusForm(PressForm):
    pass
