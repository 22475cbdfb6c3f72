"""Forms of stock, one for each action, named after it."""

from decimal import Decimal
from typing import Any

from django import forms

from shop import clock
from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.forms import PressForm
from shop.stock.amounts import MOST, in_words, kind_of
from shop.stock.models import BlankSize, Defect, Item, ItemKind, Lot, StockUnit, Supplier


class WholeQuantityField(QuantityField):
    """A quantity typed in the person's unit that is kept in whole stored units: rounds to the nearest."""

    def to_python(self, value: Any) -> int | None:
        number = super().to_python(value)
        return None if number is None else round(number)


def amount_field(item: Item, *, label: str, low: int = 1, **rest: Any) -> NumberField:
    """A box for a quantity of the item: counted, or in the person's unit."""
    kind = kind_of(item)
    if kind is None:
        return NumberField(label=label, low=low, high=MOST, whole=True, **rest)
    # Below half a stored unit is nothing; the action says so of what rounds to it.
    return WholeQuantityField(kind, label=label, low=0, high=MOST, **rest)


def note_field(label: str = "Note") -> forms.CharField:
    return forms.CharField(label=label, max_length=300, required=False)


class LotForm(PressForm):
    """A form about one lot."""

    def __init__(self, data: Any = None, *, person: Person, lot: Lot, **rest: Any) -> None:
        self.lot = lot
        super().__init__(data, person=person, **rest)


class TakeForm(LotForm):
    """How much is taken out of a lot, and when."""

    def __init__(self, data: Any = None, *, person: Person, lot: Lot, **rest: Any) -> None:
        super().__init__(data, person=person, lot=lot, **rest)
        quantity = amount_field(lot.item, label="How many" if kind_of(lot.item) is None else "How much")
        quantity.hint_before = f"{in_words(lot.on_hand, lot.item, person)} on hand in lot {lot.code}"  # type: ignore[attr-defined]
        if isinstance(quantity, QuantityField):
            quantity.speak_to(person)
        else:
            quantity.initial = 1
        self.fields = {"quantity": quantity, **self.fields, "at": MomentField(), "note": note_field()}


class UseStockForm(TakeForm):
    """With a box for the reason to overrule where the lot is not fit to use and the person may overrule that."""

    def __init__(self, data: Any = None, *, person: Person, lot: Lot, **rest: Any) -> None:
        super().__init__(data, person=person, lot=lot, **rest)
        if person.is_engineer and (lot.is_held or lot.is_past_date(clock.today())):
            overrule = forms.CharField(
                label="Why it may be used all the same",
                max_length=180,
                help_text="Kept with the movement and your name.",
                error_messages={"required": "Give a reason to overrule it, or take another lot."},
            )
            fields = dict(self.fields)
            self.fields = {"quantity": fields.pop("quantity"), "overrule": overrule, **fields}


class TestStockForm(UseStockForm):
    __test__ = False  # not one of pytest's


class SpoilStockForm(TakeForm):
    defect = forms.ModelChoiceField(
        Defect.objects.filter(is_active=True), label="What is wrong", empty_label=None, widget=forms.RadioSelect
    )


class ReturnStockForm(TakeForm):
    pass


class CountLotForm(LotForm):
    expected = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: Any = None, *, person: Person, lot: Lot, **rest: Any) -> None:
        super().__init__(data, person=person, lot=lot, **rest)
        counted = amount_field(lot.item, label="Counted on the shelf", low=0)
        counted.hint_before = f"The ledger says {in_words(lot.on_hand, lot.item, person)}"  # type: ignore[attr-defined]
        if isinstance(counted, QuantityField):
            counted.speak_to(person)
        reason = note_field("Why it differs")
        reason.help_text = "Needed only if it does."
        self.fields = {"counted": counted, **self.fields, "reason": reason}
        self.fields["expected"].initial = lot.on_hand

    def clean_counted(self) -> int:
        """What shows the same in the person's unit is the same: half a millilitre is not a difference."""
        counted = self.cleaned_data["counted"]
        same = in_words(counted, self.lot.item, self.person) == in_words(self.lot.on_hand, self.lot.item, self.person)
        return self.lot.on_hand if same else counted


class ReverseMovementForm(PressForm):
    note = note_field("Why")


class HoldLotForm(LotForm):
    why = forms.CharField(label="Why", max_length=300)


class ReleaseLotForm(LotForm):
    note = note_field("What was found")


class CostField(NumberField):
    """An amount of money, to a hundredth of a cent."""

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        number = super().to_python(value)
        return None if number is None else Decimal(str(number)).quantize(Decimal("0.0001"))


def cost_field(item: Item) -> CostField:
    each = "each" if item.unit == StockUnit.EACH else f"of one {item.get_unit_display()}"
    return CostField(label=f"Cost {each}", low=0, high=999_999, required=False)


class ReceiveDeliveryForm(PressForm):
    code = forms.CharField(label="Supplier's lot code", max_length=60)
    supplier = forms.ModelChoiceField(Supplier.objects.filter(is_active=True), required=False, empty_label="Not known")
    received_on = DayField(label="Came in on", required=False, help_text="Empty for today.")
    best_before = DayField(label="Best before", required=False)
    made_on = DayField(label="Made on", required=False)
    note = note_field()

    def __init__(self, data: Any = None, *, person: Person, item: Item, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        quantity = amount_field(item, label="How many" if kind_of(item) is None else "How much")
        if isinstance(quantity, QuantityField):
            quantity.speak_to(person)
        fields = dict(self.fields)
        self.fields = {"code": fields.pop("code"), "quantity": quantity, **fields, "unit_cost": cost_field(item)}
        self.fields["note"] = self.fields.pop("note")
        self.fields["supplier"].initial = item.supplier_id
        self.fields["best_before"].help_text = (
            f"If the lot carries none, {item.shelf_days} days from when it was made or came in are assumed."
            if item.shelf_days
            else "Usable through that day. If the lot carries none it never expires, for the item has no shelf days."
        )


class CorrectLotForm(ChangeForm):
    code = forms.CharField(label="Supplier's lot code", max_length=60)
    best_before = DayField(label="Best before", required=False)
    made_on = DayField(label="Made on", required=False)
    note = note_field()

    def __init__(self, data: Any = None, *, person: Person, row: Lot, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        self.fields["unit_cost"] = cost_field(row.item)
        self.fields["why"] = forms.CharField(
            label="Why it is put right", max_length=200, help_text="Kept with what it was before, and your name."
        )


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
    note = note_field()


class ChangeSupplierForm(AddSupplierForm, ChangeForm):
    is_active = forms.BooleanField(label="We order from them", required=False)


class AddDefectForm(PressForm):
    name = forms.CharField(label="Defect", max_length=60)


class ChangeDefectForm(AddDefectForm, ChangeForm):
    is_active = forms.BooleanField(label="Offer it", required=False)
