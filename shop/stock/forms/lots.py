"""Forms about one lot, and about undoing a movement."""

from typing import Any

from django import forms

from shop import clock
from shop.people.eyes import UnderEye
from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, MomentField
from shop.press.forms import PressForm
from shop.stock.amounts import in_words, kind_of
from shop.stock.forms.fields import PriceField, amount_field, note_field
from shop.stock.models import Defect, Lot


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


class ReleaseLotForm(UnderEye, LotForm):
    act = "release-lot"

    note = forms.CharField(
        label="What was found", max_length=300, help_text="Kept with the lot and your name, beside why it was held."
    )


class CorrectLotForm(ChangeForm):
    code = forms.CharField(label="Supplier's lot code", max_length=60)
    best_before = DayField(label="Best before", required=False)
    made_on = DayField(label="Made on", required=False)
    note = note_field()

    def __init__(self, data: Any = None, *, person: Person, row: Lot, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        self.fields["unit_cost"] = PriceField(row.item, person)
        self.fields["why"] = forms.CharField(
            label="Why it is put right", max_length=200, help_text="Kept with what it was before, and your name."
        )
