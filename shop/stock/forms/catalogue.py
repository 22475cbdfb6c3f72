"""Forms of what is kept, from whom, and what can be wrong with it."""

from typing import Any

from django import forms

from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.stock.amounts import MOST
from shop.stock.forms.fields import note_field
from shop.stock.models import BlankSize, Item, ItemKind, StockUnit, Supplier


class AddItemForm(PressForm):
    name = forms.CharField(label="Name", max_length=80)
    kind = forms.ChoiceField(label="Kind", choices=ItemKind.choices)
    blank_in = forms.TypedChoiceField(
        label="Blank size",
        choices=[("", "Not a blank"), *BlankSize.choices],
        coerce=int,
        empty_value=None,
        required=False,
    )
    unit = forms.ChoiceField(label="Counted or measured in", choices=StockUnit.choices, initial=StockUnit.EACH)
    minimum = NumberField(
        label="Minimum",
        low=0,
        high=MOST,
        whole=True,
        initial=0,
        help_text="In that unit. Below it there is a concern; 0 for none.",
    )
    shelf_days = NumberField(
        label="Shelf days",
        low=1,
        high=18_263,
        whole=True,
        required=False,
        help_text="Your own figure, for lots that carry no date: counted from the day made, else the day received.",
    )
    warn_days = NumberField(label="Days of warning before a lot's last day", low=0, high=18_263, whole=True, initial=30)
    supplier = forms.ModelChoiceField(
        Supplier.objects.filter(is_active=True), label="Usual supplier", required=False, empty_label="None"
    )
    note = note_field()


class ChangeItemForm(AddItemForm, ChangeForm):
    is_active = forms.BooleanField(label="We keep this", required=False)

    def __init__(self, data: Any = None, *, person: Person, row: Item, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        if row.supplier_id is not None:
            still_theirs = Supplier.objects.filter(pk=row.supplier_id)
            self.fields["supplier"].queryset = Supplier.objects.filter(is_active=True) | still_theirs  # type: ignore[attr-defined]


class AddSupplierForm(PressForm):
    name = forms.CharField(label="Name", max_length=80)
    lead_days = NumberField(label="Promised lead time, in days", low=0, high=3653, whole=True, required=False)
    lead_note = forms.CharField(
        label="About its lead time", max_length=200, required=False, help_text="“Closed in August”, “late in winter”."
    )
    contact = forms.CharField(
        label="Where orders go",
        max_length=200,
        required=False,
        help_text="An e-mail address opens a mail with the order in it; else a name, a number, as you like.",
    )
    note = note_field()


class ChangeSupplierForm(AddSupplierForm, ChangeForm):
    is_active = forms.BooleanField(label="We order from them", required=False)


class AddDefectForm(PressForm):
    name = forms.CharField(label="Defect", max_length=60)
    blames_lot = forms.BooleanField(
        label="It speaks against the lot",
        required=False,
        initial=True,
        help_text="Not for what happened here: a knock, or a blank that grew old. Lots are compared by those that do.",
    )


class ChangeDefectForm(AddDefectForm, ChangeForm):
    is_active = forms.BooleanField(label="Offer it", required=False)
