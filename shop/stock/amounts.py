"""Quantities of an item as a person reads and types them: whole numbers of the item's unit underneath."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Protocol

from shop.calc import units
from shop.concern import Quantity
from shop.people.fields import measured, unit_for, whole_words
from shop.people.models import Units
from shop.stock.models import Item, StockUnit
from shop.wording import grouped

#: The kind of quantity (of shop.calc.units) that each stock unit measures. "each" is only counted.
KIND_OF_UNIT = {StockUnit.ML: "liquid", StockUnit.GRAM: "mass", StockUnit.MM: "length"}

#: The most of anything that one movement may move, in the item's unit: a thousand litres, a kilometre of hose.
MOST = 1_000_000


def kind_of(item: Item) -> str | None:
    """The kind of quantity an item is measured in; None for what is counted by the piece."""
    return KIND_OF_UNIT.get(StockUnit(item.unit))


def in_words(value: int, item: Item, person: Units) -> str:
    """`value` of the item in the person's unit ("2.505 l", "40 ml"); a bare number for what is counted ("1200")."""
    kind = kind_of(item)
    return grouped(value) if kind is None else whole_words(kind, value, person)


def written(item: Item, person: Units, *values: int) -> tuple[Quantity, ...]:
    """Amounts of the item that stand in a concern's texts as `in_words` wrote them for `person`, to go with it; none
    for what is counted by the piece."""
    kind = kind_of(item)
    return () if kind is None else tuple(measured(kind, value, person) for value in values)


def is_or_are(value: int, item: Item) -> str:
    """The verb for `value` of the item: what is measured is one quantity, what is counted are many but for one."""
    return "is" if value == 1 or kind_of(item) is not None else "are"


def unit_of(item: Item, person: Units) -> str:
    """The unit a person types the item in, as written: "l"; empty for what is counted."""
    kind = kind_of(item)
    return units.label(kind, unit_for(kind, person)) if kind else ""


def change_in_words(value: int, item: Item, person: Units) -> str:
    """A change with its sign: "+20", "−1", "0"."""
    sign = "+" if value > 0 else "−" if value < 0 else ""
    return sign + in_words(abs(value), item, person)


def price_figure(value: Decimal) -> str:
    """A price as it is written: to the hundredth, and finer only where it is."""
    plain = f"{value.normalize():f}"
    return plain if len(plain.partition(".")[2]) > 2 else f"{value:.2f}"


def price_in_words(value: Decimal, item: Item, currency: str) -> str:
    """What one of the item's unit costs: "31.50 EUR each", "0.012 EUR a ml"."""
    return f"{price_figure(value)} {currency} {'each' if item.unit == StockUnit.EACH else f'a {item.unit}'}"


class Asked(Protocol):
    """A line of an order, typed or kept."""

    @property
    def item(self) -> Item: ...

    @property
    def quantity(self) -> int: ...


def lines_in_words(lines: Iterable[Asked], person: Units) -> str:
    """What is asked for: "75 of 14-inch blank, 2.5 l of Wiping solvent"."""
    return ", ".join(f"{in_words(line.quantity, line.item, person)} of {line.item.name}" for line in lines)


def whole_packs(item: Item, quantity: int) -> int:
    """`quantity` made up to the smallest order and to whole packs."""
    wanted = max(quantity, item.minimum_order)
    return -(-wanted // item.pack_size) * item.pack_size
