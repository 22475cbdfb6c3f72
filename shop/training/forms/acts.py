from typing import Any

from django import forms

from shop.duties import sheets
from shop.people.models import HANDS, Person
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, NumberField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.training.models import Act


class _ActFields(PlainForm):
    name = forms.CharField(max_length=80, label="What it is", help_text="As it is said: change a cylinder.")
    why = forms.CharField(
        max_length=500, required=False, label="Why not everybody does it alone", widget=forms.Textarea({"rows": 2})
    )
    steps = forms.CharField(
        max_length=3000,
        required=False,
        label="How it is done",
        widget=forms.Textarea({"rows": 6}),
        help_text="A step a line.",
    )
    goes_wrong = forms.CharField(
        max_length=2000,
        required=False,
        label="What goes wrong",
        widget=forms.Textarea({"rows": 4}),
        help_text="A point a line.",
    )
    sheet = forms.ChoiceField(required=False, label="Hazard sheet")
    months = NumberField(
        label="Given for", low=1, high=120, whole=True, required=False, unit="months", help_text="Empty for no end."
    )


def _with_sheets(form: forms.Form, kept: str = "") -> None:
    there = {slug: one.title for slug, one in sheets.all_sheets().items()}
    if kept and kept not in there:
        there[kept] = kept
    form.fields["sheet"].choices = [("", "None"), *there.items()]  # type: ignore[attr-defined]


class AddActForm(PressForm, _ActFields):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["months"].initial = 24
        _with_sheets(self)


class ChangeActForm(ChangeForm, _ActFields):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _with_sheets(self, self.row.sheet)


class StopActForm(ChangeForm):
    pass


class ResumeActForm(ChangeForm):
    pass


class GiveAuthorityForm(PressForm):
    person = forms.ModelChoiceField(Person.objects.none(), label="To whom", empty_label="Choose")
    until = DayField(label="Until", required=False)
    note = forms.CharField(
        max_length=300,
        label="Why",
        help_text="What you know of them: it is kept with your name.",
        error_messages={"required": "Say why; it is kept."},
    )

    def __init__(self, *args: Any, act: Act, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = Person.objects.filter(is_active=True, role__in=HANDS)  # type: ignore[attr-defined]
        self.fields["until"].help_text = (
            f"The last day. Empty for {act.months} months." if act.months else "The last day. Empty for no end."
        )


class WithdrawAuthorityForm(PressForm):
    why = forms.CharField(max_length=300, label="Why", error_messages={"required": "Say why; it is kept."})
