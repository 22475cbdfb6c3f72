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

#: What a price is of, for who reads a kind of quantity in a unit: that unit's name, and how many stored units it is.
#: By definition: a US gallon is 231 cubic inches of 2.54 cm, a foot 12 of them (NIST SP 811, appendix B).
PRICED_BY = {
    ("liquid", "l"): ("l", Decimal(1000)),
    ("liquid", "gal"): ("US gal", Decimal("3785.411784")),
    ("length", "mm"): ("m", Decimal(1000)),
    ("length", "in"): ("ft", Decimal("304.8")),
    ("mass", "g"): ("kg", Decimal(1000)),
}
#: Decimal places of a price of one stored unit: a price of any of those, given to four, comes back from it as it was.
COST_PLACES = 10

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


def priced_by(item: Item, reader: Units) -> tuple[str, Decimal]:
    """What a price of the item is of, for this reader, and how many of the item's unit that is: "US gal"; "" and 1 for
    what is counted."""
    kind = kind_of(item)
    return PRICED_BY[kind, unit_for(kind, reader)] if kind is not None else ("", Decimal(1))


def kept_price(price: Decimal, item: Item, person: Units) -> Decimal:
    """The price of one of the item's unit, of one as the person gives it."""
    return (price / priced_by(item, person)[1]).quantize(Decimal(1).scaleb(-COST_PLACES))


def shown_price(kept: Decimal, item: Item, reader: Units) -> Decimal:
    """A kept price as the reader gives it, to a hundredth of a cent."""
    return (kept * priced_by(item, reader)[1]).quantize(Decimal("0.0001"))


def price_in_words(value: Decimal, item: Item, currency: str, reader: Units, *, rough: bool = False) -> str:
    """What one of the item costs: "31.50 EUR each", "12.00 EUR a l". rough: to the hundredth, below 1 to a hundredth
    of that."""
    shown, unit = shown_price(value, item, reader), priced_by(item, reader)[0]
    if rough and shown >= 1:
        shown = round(shown, 2)
    return f"{price_figure(shown)} {currency} {f'a {unit}' if unit else 'each'}"


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
