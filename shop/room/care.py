"""What care takes from stock. Duties and stock don't know each other; this room knows both."""

from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any

from django import forms
from django.db.models import Sum

from shop import clock
from shop.calc import units
from shop.duties.effects import Effect, Made, Target
from shop.duties.models import Touched
from shop.people.fields import QuantityField, unit_for
from shop.people.models import Person, Units
from shop.press.fields import NumberField
from shop.refusal import NotEnough
from shop.stock import ledger
from shop.stock.amounts import MOST, in_words, kind_of
from shop.stock.ledger import Owner
from shop.stock.models import Item, Movement, MovementKind
from shop.stock.queries import usable_lots


class WholeQuantityField(QuantityField):
    """A quantity of an item that is kept in whole ones of its unit."""

    def to_python(self, value: Any) -> int | None:
        number = super().to_python(value)
        return None if number is None else round(number)

    def prepare_value(self, value: Any) -> Any:
        """A kept amount in the person's unit with no zeros that say nothing; typed text as it was typed."""
        shown = super().prepare_value(value)
        return f"{float(shown):g}" if isinstance(value, int) else shown


class TakeStock(Effect):
    """Takes so much of an item from the shelf, first expired first, from as many lots as it needs."""

    kind = "take-stock"
    verb = "Takes from stock"
    measured = True

    def targets(self) -> list[Target]:
        return [Target(item.pk, item.name) for item in Item.objects.filter(is_active=True)]

    def words(self, touches: Collection[tuple[int, int | None]], reader: Units) -> Mapping[tuple[int, int | None], str]:
        items = Item.objects.in_bulk([target for target, _ in touches])
        return {
            (target, amount): f"takes {in_words(amount or 0, items[target], reader)} of {items[target]} from stock"
            for target, amount in touches
            if target in items
        }

    def read_amount(self, target: int, typed: str, person: Units) -> int:
        item = Item.objects.get(pk=target)
        number, unit = units.parse_number(typed)
        kind = kind_of(item)
        if kind is not None:
            number = units.to_stored(kind, number, unit or unit_for(kind, person))
        elif unit:
            raise ValueError("Give a plain number, no unit.")
        elif number != int(number):
            raise ValueError("Give a whole number.")
        if not 1 <= round(number) <= MOST:
            raise ValueError("Give a number above zero." if number < 1 else "That is more than a shelf holds.")
        return round(number)

    def shown_amount(self, target: int, amount: int, person: Units) -> str:
        return in_words(amount, Item.objects.get(pk=target), person)

    def amount_field(self, target: int) -> forms.Field:
        item = Item.objects.get(pk=target)
        kind = kind_of(item)
        label = f"{item.name} taken from stock"
        if kind is None:
            return NumberField(label=label, low=0, high=MOST, whole=True)
        return WholeQuantityField(kind, label=label, low=0, high=MOST)

    def ahead(self, target: int, reader: Units) -> str:
        item = Item.objects.get(pk=target)
        lots = usable_lots(day=clock.today(), item=item)
        first = lots.first()
        if first is None:
            return "None is there to take. Give 0 if what was used came from elsewhere."
        there = lots.aggregate(sum=Sum("on_hand"))["sum"]
        return f"{in_words(there, item, reader)} there, lot {first.code} first. Give 0 for none."

    def apply(self, target: int, amount: int | None, *, at: datetime, by: Person, note: str) -> list[Made]:
        item = Item.objects.get(pk=target)
        left, made = amount or 0, []
        for lot in usable_lots(day=clock.day_of(at), item=item).filter(received_on__lte=clock.day_of(at)):
            if left == 0:
                break
            part = min(left, lot.on_hand)
            movement = ledger.take(lot=lot, kind=MovementKind.USED, quantity=part, by=by, at=at, note=note)
            made.append(Made(movement.pk, part))
            left -= part
        if left:
            there = in_words((amount or 0) - left, item, by)
            raise NotEnough(
                f"There is only {there} of {item} to take. Give what was really taken from the shelf, or 0.",
                field="amount",
            )
        return made

    def undo(self, ref: int, *, by: Person, note: str) -> Made | None:
        movement = Movement.objects.select_related("lot__item").get(pk=ref)
        if Movement.objects.filter(reverses=movement).exists():
            return None
        back = ledger.reverse(movement=movement, at=clock.now(), by=by, note=note)
        return Made(back.pk, abs(back.change))


def owners(movement_ids: Collection[int]) -> dict[int, Owner]:
    """The entries that movements belong to: they are undone there, with what else the entry did."""
    rows = Touched.objects.filter(kind=TakeStock.kind, ref__in=movement_ids, undoes=None).select_related("entry")
    return {row.ref: Owner(f"entry {row.entry_id}", row.entry.get_absolute_url()) for row in rows}
