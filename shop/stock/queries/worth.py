"""What stock is worth, at what its own lots cost."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shop.calc.cost import Worth, worth
from shop.stock.models import Item, Lot
from shop.stock.queries.lists import items


@dataclass(frozen=True)
class ItemWorth:
    """What is on hand of an item and what it cost. unusable: what of that value is on hold or past its date."""

    item: Item
    on_hand: int
    of_all: Worth
    unusable: Decimal


@dataclass(frozen=True)
class StockWorth:
    """Everything on hand. guessed: what all of it would be worth if what has no price cost what the rest of its item
    did on average; items of which nothing has a price stay out. lacking: the lots without a price."""

    items: list[ItemWorth]
    lacking: list[Lot]

    @property
    def value(self) -> Decimal:
        return sum((one.of_all.value for one in self.items), Decimal(0))

    @property
    def unusable(self) -> Decimal:
        return sum((one.unusable for one in self.items), Decimal(0))

    @property
    def guessed(self) -> Decimal:
        return sum((one.of_all.with_the_rest or Decimal(0) for one in self.items), Decimal(0))


def stock_worth(day: date) -> StockWorth:
    """All lots with something in them as of `day`, by item in the order of the shelf: two queries."""
    lots: dict[int, list[Lot]] = {}
    there = list(Lot.objects.filter(on_hand__gt=0).select_related("item", "supplier").order_by("received_on", "id"))
    for lot in there:
        lots.setdefault(lot.item_id, []).append(lot)
    found = [_of(item, lots[item.pk], day) for item in items().filter(pk__in=list(lots))]
    return StockWorth(found, [lot for lot in there if lot.unit_cost is None])


def _of(item: Item, lots: list[Lot], day: date) -> ItemWorth:
    unfit = [lot for lot in lots if lot.is_held or lot.is_past_date(day)]
    return ItemWorth(
        item,
        on_hand=sum(lot.on_hand for lot in lots),
        of_all=worth((lot.on_hand, lot.unit_cost) for lot in lots),
        unusable=worth((lot.on_hand, lot.unit_cost) for lot in unfit).value,
    )
