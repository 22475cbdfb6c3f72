"""The form of a delivery."""

from typing import Any

from django import forms

from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.fields import DayField
from shop.press.forms import PressForm
from shop.stock.amounts import kind_of
from shop.stock.forms.fields import amount_field, cost_field, note_field
from shop.stock.models import Item, Supplier


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
