"""Forms of what comes in: a delivery, one on an order, and a look over a lot."""

from typing import Any

from django import forms

from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.fields import DayField
from shop.press.forms import PressForm
from shop.stock.actions.inspections import Found
from shop.stock.amounts import in_words, kind_of
from shop.stock.forms.fields import PriceField, amount_field, note_field
from shop.stock.models import Defect, Item, Lot, OrderLine, Outcome, Supplier


class DeliveryForm(PressForm):
    """What is read off a box that came."""

    code = forms.CharField(
        label="Supplier's lot code",
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )
    best_before = DayField(label="Best before", required=False)
    made_on = DayField(label="Made on", required=False)
    received_on = DayField(label="Came in on", required=False, help_text="Empty for today.")
    note = note_field()

    def __init__(self, data: Any = None, *, person: Person, item: Item, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        quantity = amount_field(item, label="How many" if kind_of(item) is None else "How much")
        if isinstance(quantity, QuantityField):
            quantity.speak_to(person)
        fields = dict(self.fields)
        self.fields = {
            "code": fields.pop("code"),
            "quantity": quantity,
            **fields,
            "unit_cost": PriceField(item, person),
        }
        self.fields["note"] = self.fields.pop("note")
        self.fields["best_before"].help_text = (
            f"If the lot carries none, {item.shelf_days} days from when it was made or came in are assumed."
            if item.shelf_days
            else "Usable through that day. If the lot carries none it never expires, for the item has no shelf days."
        )


class ReceiveDeliveryForm(DeliveryForm):
    supplier = forms.ModelChoiceField(Supplier.objects.filter(is_active=True), required=False, empty_label="Not known")

    def __init__(self, data: Any = None, *, person: Person, item: Item, **rest: Any) -> None:
        super().__init__(data, person=person, item=item, **rest)
        self.fields["supplier"].initial = item.supplier_id


class ReceiveOnOrderForm(DeliveryForm):
    """What came on a line of an order. The count is left open, for it is to be counted, not copied."""

    def __init__(self, data: Any = None, *, person: Person, line: OrderLine, **rest: Any) -> None:
        super().__init__(data, person=person, item=line.item, **rest)
        asked, left = (in_words(value, line.item, person) for value in (line.quantity, line.open_quantity))
        said = f"{left} still to come of {asked} ordered" if line.arrived else f"{asked} ordered"
        self.fields["quantity"].hint_before = said  # type: ignore[attr-defined]
        # What was agreed is for those who see prices; from anybody else an empty box takes it over unseen.
        self.agreed = None if person.is_engineer else line.unit_cost
        if self.agreed is not None:
            self.fields["unit_cost"].help_text = "Empty for what was agreed in the order."
        elif line.unit_cost is not None:
            self.fields["unit_cost"].initial = line.unit_cost
            self.fields["unit_cost"].help_text = "As agreed in the order; put it right if the bill says otherwise."

    def typed(self) -> dict[str, Any]:
        said = super().typed()
        return said | {"unit_cost": self.agreed if said["unit_cost"] is None else said["unit_cost"]}


_OUTCOMES = (
    (Outcome.ACCEPT, "Accept: it may be used"),
    (Outcome.HOLD, "Hold: nobody uses it for now"),
    (Outcome.RETURN, "Return: all of it goes back"),
)
_WRITE_OFF = (
    ("", "Out as spoiled if it is accepted, left in it on hold"),
    ("out", "Take them out as spoiled"),
    ("in", "Leave them in the lot"),
)


class InspectLotForm(PressForm):
    """How many were looked at, how many had which defect, and what comes of it."""

    outcome = forms.ChoiceField(label="What comes of it", choices=_OUTCOMES, widget=forms.RadioSelect)
    write_off = forms.ChoiceField(
        label="The faulty ones",
        choices=_WRITE_OFF,
        required=False,
        initial="",
        widget=forms.RadioSelect,
        help_text="If all of it goes back, they go along.",
    )
    note = note_field("What was seen, or why")

    def __init__(self, data: Any = None, *, person: Person, lot: Lot, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        item = lot.item
        counted = kind_of(item) is None
        looked_at = amount_field(item, label="How many were looked at" if counted else "How much was looked at")
        looked_at.hint_before = f"{in_words(lot.on_hand, item, person)} on hand in lot {lot.code}"  # type: ignore[attr-defined]
        self.defects = {f"found_{defect.pk}": defect for defect in Defect.objects.filter(is_active=True)}
        boxes = {
            name: amount_field(item, label=defect.name, low=0, required=False) for name, defect in self.defects.items()
        }
        own = dict(self.fields)
        self.fields = {"looked_at": looked_at, **boxes, **own}
        for field in (looked_at, *boxes.values()):
            if isinstance(field, QuantityField):
                field.speak_to(person)
        looked_at.error_messages["required"] = "Fill this in."
        self.fieldsets = (
            ("", ("looked_at",)),
            ("How many had a defect, each under its worst" if counted else "How much had a defect", tuple(boxes)),
            ("", ("outcome", "write_off", "note")),
        )

    def typed(self) -> dict[str, Any]:
        said = super().typed()
        counts = {name: said.pop(name) for name in self.defects}
        said["write_off"] = {"out": True, "in": False}.get(said["write_off"])
        return said | {"found": [Found(self.defects[name], count) for name, count in counts.items() if count]}

    def field_of(self, name: str | None) -> str | None:
        return super().field_of((name or "").replace("found.", "found_"))
