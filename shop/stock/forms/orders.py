"""Forms of orders: drafting and changing one, sending it, and what follows."""

from collections.abc import Iterable
from datetime import timedelta
from functools import cached_property
from typing import Any

from django import forms

from shop import clock
from shop.people.eyes import UnderEye
from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import DayField
from shop.press.forms import PressForm
from shop.press.rows import RowForm
from shop.stock.actions.orders import MOST_LINES, WantedLine
from shop.stock.amounts import in_words, kept_price, kind_of, lines_in_words, shown_price, unit_of
from shop.stock.forms.fields import CostField, any_price_label, exact_field, price_label
from shop.stock.models import Item, Order, Supplier
from shop.stock.queries import Offer
from shop.wording import in_full


class OrderForm(RowForm):
    """Whom from, a word to them, and a row for each thing asked for. A row without a quantity is left out.

    offers: what is offered in the rows of a fresh form, and named first in their lists.
    """

    supplier = forms.ModelChoiceField(Supplier.objects.filter(is_active=True), label="From", empty_label=None)
    note = forms.CharField(label="A word to the supplier", max_length=500, required=False)
    #: Where the action's refusals about the lines as a whole land.
    lines = forms.Field(required=False, widget=forms.HiddenInput)

    not_typed = ("rows", "lines")
    most_rows = MOST_LINES

    def __init__(self, data: Any = None, *, person: Person, offers: Iterable[Offer] = (), **rest: Any) -> None:
        self.person = person
        self.offers = {offer.item.pk: offer for offer in offers}
        super().__init__(data, person=person, **rest)

    @cached_property
    def items(self) -> dict[int, Item]:
        """What can be asked for, by id: whatever is kept, and what the draft holds already."""
        return {item.pk: item for item in Item.objects.filter(is_active=True).order_by("name")} | self.kept_items()

    def kept_items(self) -> dict[int, Item]:
        return {}

    @cached_property
    def _choices(self) -> list[Any]:
        named = {pk: (pk, _named(item, self.person)) for pk, item in self.items.items()}
        usual = [named.pop(pk) for pk in self.offers if pk in named]
        others = list(named.values())
        groups = [("Usually from them", usual), ("All others", others)] if usual else others
        return [("", "Nothing"), *[group for group in groups if group[1]]]

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        price: dict[str, forms.Field] = {}
        if self.person.is_engineer:
            price["unit_cost"] = CostField(label=any_price_label(self.person), low=0, high=999_999, required=False)
        return {
            "item": forms.TypedChoiceField(
                label="What",
                choices=self._choices,
                coerce=lambda pk: self.items[int(pk)],
                empty_value=None,
                required=False,
            ),
            "quantity": forms.CharField(
                label="How many",
                required=False,
                widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            ),
            **price,
        }

    @property
    def line_rows(self) -> list[dict[str, Any]]:
        """Each row for the page, with what is known of the item in it."""
        found = []
        for place in range(self.row_count):
            boxes = self.row_boxes(place)
            chosen = str(boxes["item"].value() or "")
            item = self.items.get(int(chosen)) if chosen.isdigit() else None
            if item is not None:
                self._speak_of(item, boxes)
            found.append({"number": place + 1, "thing": item, **boxes})
        return found

    def _speak_of(self, item: Item, boxes: dict[str, Any]) -> None:
        """Word the boxes of a row for the item that is in it."""
        boxes["quantity"].label = "How many" if kind_of(item) is None else "How much"
        boxes["quantity"].field.unit_label = unit_of(item, self.person)
        if "unit_cost" in boxes:
            boxes["unit_cost"].label = price_label(item, self.person)
        if offer := self.offers.get(item.pk):
            boxes["quantity"].field.hint_before = _known(offer, self.person)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        for place in range(self.row_count):
            of, much, price = (self.box(place, name) for name in ("item", "quantity", "unit_cost"))
            item, amount = said.get(of), str(said.get(much) or "").strip()
            if item is None and amount and of not in self.errors:
                self.add_error(of, "Choose what it is of.")
            if item is None or not amount:
                continue
            if said.get(price) is not None:
                said[price] = kept_price(said[price], item, self.person)
            box = exact_field(item, low=1)
            if isinstance(box, QuantityField):
                box.speak_to(self.person)
            try:
                said[much] = box.clean(amount)
            except forms.ValidationError as wrong:
                self.add_error(much, wrong)
        return said

    def typed(self) -> dict[str, Any]:
        self.places = [place for place in range(self.row_count) if self._is_filled(self.row_said(place))]
        rows = [self.row_said(place) for place in self.places]
        lines = [WantedLine(row["item"], row["quantity"], self._price(row)) for row in rows]
        return super().typed() | {"lines": lines}

    def _price(self, row: dict[str, Any]) -> Any:
        """A row's price: as typed, and of whoever is shown no prices the one known already, unseen."""
        return row["unit_cost"] if "unit_cost" in row else self.known_price(row["item"])

    def known_price(self, item: Item) -> Any:
        offer = self.offers.get(item.pk)
        return offer.last_cost if offer else None

    @staticmethod
    def _is_filled(row: dict[str, Any]) -> bool:
        return row.get("item") is not None and row.get("quantity") not in (None, "")


def _named(item: Item, person: Person) -> str:
    unit = unit_of(item, person)
    return f"{item.name} ({unit})" if unit else item.name


def _known(offer: Offer, person: Person) -> str:
    """What there is of an item, for under its box: "12 usable, 50 to come; packs of 25"."""
    item = offer.item
    words = f"{in_words(offer.level.usable, item, person)} usable"
    if offer.coming:
        words += f", {in_words(offer.coming, item, person)} to come"
    if item.minimum:
        words += f", minimum {in_words(item.minimum, item, person)}"
    if item.pack_size > 1:
        words += f"; packs of {in_words(item.pack_size, item, person)}"
    if item.minimum_order:
        words += f"; {in_words(item.minimum_order, item, person)} or more"
    return f"{words}."


def row_of(place: int, item: Item, quantity: int | None, unit_cost: Any, person: Person) -> dict[str, Any]:
    """A row's boxes as a form starts from them: the quantity in the person's unit."""
    box = exact_field(item)
    if isinstance(box, QuantityField):
        box.speak_to(person)
    shown = "" if quantity is None else box.prepare_value(quantity)
    price = None if unit_cost is None else shown_price(unit_cost, item, person)
    return {f"r{place}_item": item.pk, f"r{place}_quantity": shown, f"r{place}_unit_cost": price}


class DraftOrderForm(OrderForm):
    """A fresh draft. first: the items its rows start with, each with a quantity (None to leave that open)."""

    def __init__(
        self,
        data: Any = None,
        *,
        person: Person,
        offers: Iterable[Offer] = (),
        first: Iterable[tuple[Item, int | None]] = (),
        supplier: Supplier | None = None,
        **rest: Any,
    ) -> None:
        known = {offer.item.pk: offer for offer in offers}
        start: dict[str, Any] = {"supplier": supplier}
        rows = list(first)[: MOST_LINES - 1]
        for place, (item, quantity) in enumerate(rows):
            offer = known.get(item.pk)
            start |= row_of(place, item, quantity, offer.last_cost if offer else None, person)
        super().__init__(
            data, person=person, offers=known.values(), rows=len(rows) + 1 if rows else 2, initial=start, **rest
        )


class ChangeOrderForm(OrderForm, ChangeForm):
    """The draft as it stands."""

    def __init__(self, data: Any = None, *, person: Person, row: Order, **rest: Any) -> None:
        self.lines_kept = list(row.lines.select_related("item"))
        first: dict[str, Any] = {}
        for place, line in enumerate(self.lines_kept):
            first |= row_of(place, line.item, line.quantity, line.unit_cost, person)
        super().__init__(
            data, person=person, row=row, rows=min(MOST_LINES, len(self.lines_kept) + 1), initial=first, **rest
        )

    def kept_items(self) -> dict[int, Item]:
        return {line.item_id: line.item for line in self.lines_kept}

    def known_price(self, item: Item) -> Any:
        kept = {line.item_id: line.unit_cost for line in self.lines_kept}
        return kept[item.pk] if item.pk in kept else super().known_price(item)

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        return [*super().saved_facts, *_lines_saved(self.saved, self.person)]


class SendOrderForm(UnderEye, ChangeForm):
    act = "order"

    sent_on = DayField(label="Sent on", required=False, help_text="Empty for today.")
    expected_on = DayField(label="Expected on", required=False)

    def __init__(self, data: Any = None, *, person: Person, row: Order, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        promised = row.supplier.lead_days
        self.fields["expected_on"].help_text = (
            f"Empty for the day by their promise of {promised} days: {in_full(clock.today() + timedelta(promised))} if "
            "it is sent today."
            if promised is not None
            else "They promise no lead time, so say when it is to be there."
        )

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        return _lines_saved(self.saved, self.person)


def _lines_saved(order: Any, person: Person) -> list[tuple[str, str]]:
    """What an order that was changed meanwhile holds now."""
    if not isinstance(order, Order):
        return []
    return [("On the order", lines_in_words(order.lines.select_related("item"), person) or "nothing")]


class PromiseAnewForm(PressForm):
    expected_on = DayField(label="Now expected on")
    why = forms.CharField(label="Who said so, or why", max_length=300)


class CloseOrderShortForm(PressForm):
    why = forms.CharField(label="Why nothing more will come", max_length=300)


class DropOrderForm(PressForm):
    why = forms.CharField(label="Why", max_length=300, required=False)
