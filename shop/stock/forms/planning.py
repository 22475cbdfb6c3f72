"""The form of how an item is ordered."""

from typing import Any

from django import forms

from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.stock.actions.planning import MOST_WEEKS, SERVICE_LEVELS
from shop.stock.amounts import kind_of
from shop.stock.forms.fields import exact_field
from shop.stock.models import Item


class PlanItemForm(ChangeForm):
    service_level = NumberField(
        label="Service level",
        unit="%",
        low=100 * SERVICE_LEVELS[0],
        high=100 * SERVICE_LEVELS[1],
        help_text="How often an order is to come before the shelf is empty: 95 is 19 in 20. More takes more stock.",
    )
    cover_weeks = NumberField(
        label="Weeks an order is to last",
        low=1,
        high=MOST_WEEKS,
        whole=True,
        help_text="After it has come. More makes orders fewer and larger, and what lies on the shelf older.",
    )
    place = forms.CharField(
        label="Where it stands", max_length=60, required=False, help_text="Shelf or cupboard, as you call it here."
    )

    fieldsets = (
        ("What the supplier sends", ("pack_size", "minimum_order")),
        ("How much to keep", ("service_level", "cover_weeks", "expected_weekly")),
        ("The shelf", ("shelf_room", "place")),
    )

    def __init__(self, data: Any = None, *, person: Person, row: Item, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        own: dict[str, NumberField] = {
            "pack_size": exact_field(
                row,
                low=1,
                required=False,
                label="Pack size",
                help_text=(
                    "Suggested orders are whole packs. Empty if it comes singly."
                    if kind_of(row) is None
                    else "The bottle, can or roll it comes in: suggested orders are whole ones. Empty for any amount."
                ),
            ),
            "minimum_order": exact_field(
                row, label="Smallest order", help_text="The least the supplier will send; 0 for no such rule."
            ),
            "expected_weekly": exact_field(
                row,
                whole=False,
                required=False,
                label="Expected use a week",
                help_text="Your own guess, to start from: it gives way to what is recorded. Empty for none.",
            ),
            "shelf_room": exact_field(
                row,
                low=1,
                required=False,
                label="Most the shelf holds",
                help_text="No more is suggested than it has room for. Empty for no limit.",
            ),
        }
        for name, field in own.items():
            if isinstance(field, QuantityField):
                field.speak_to(person)
            if field.required:
                field.error_messages["required"] = "Fill this in."
            self.fields[name] = field

    def kept(self, row: Item) -> dict[str, Any]:
        found = super().kept(row)
        pack = row.pack_size if row.pack_size > 1 else None
        return found | {"service_level": round(100 * row.service_level, 6), "pack_size": pack}

    def clean_pack_size(self) -> int:
        """Empty for no pack: every whole number of the item's unit may be ordered."""
        pack: int | None = self.cleaned_data["pack_size"]
        return 1 if pack is None else pack

    def clean_service_level(self) -> float:
        return round(float(self.cleaned_data["service_level"]) / 100, 8)
