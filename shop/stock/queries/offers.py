"""What is offered for a draft of an order to a supplier, and how much of it is suggested."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Max

from shop.stock.amounts import whole_packs
from shop.stock.models import STILL_TO_COME, Item, Lot, OrderLine, ReorderFigure, Supplier
from shop.stock.queries.levels import Level, levels
from shop.stock.queries.reorders import is_soon, order_by


@dataclass(frozen=True)
class Offer:
    """An item as it is offered on a draft, quantities in its unit.

    coming: still to come of open orders. suggested: what its outlook says, where it is to be ordered within two weeks;
    else what would bring it to twice its minimum, in whole packs, and 0 while what there is and comes reaches that.
    last_cost: what the latest lot from that supplier cost for one.
    """

    item: Item
    level: Level
    coming: int
    suggested: int
    last_cost: Decimal | None


def offers(supplier: Supplier, day: date) -> list[Offer]:
    """The kept items that usually come from this supplier: those to order first, then by name."""
    kept = Item.objects.filter(supplier=supplier, is_active=True).select_related("figure")
    items = list(kept.order_by("name"))
    there, costs = levels(day, items), last_costs(supplier, items)
    coming: dict[int, int] = {}
    for line in OrderLine.objects.filter(STILL_TO_COME, item__in=items):
        coming[line.item_id] = coming.get(line.item_id, 0) + line.open_quantity
    found = [
        _offer(item, there.get(item.pk, Level()), coming.get(item.pk, 0), costs.get(item.pk), day) for item in items
    ]
    return sorted(found, key=lambda offer: not offer.suggested)


def _offer(item: Item, level: Level, coming: int, last_cost: Decimal | None, day: date) -> Offer:
    reaches = level.usable + coming
    suggested = whole_packs(item, 2 * item.minimum - reaches) if reaches < item.minimum else 0
    figure: ReorderFigure | None = getattr(item, "figure", None)
    if figure is not None and figure.quantity and is_soon(order_by(figure, reaches, day), day):
        suggested = figure.quantity
    return Offer(item, level, coming, suggested, last_cost)


def last_costs(supplier: Supplier, items: Iterable[Item]) -> dict[int, Decimal]:
    """What one of each item cost in the latest lot of it from this supplier that has a cost, by item id."""
    priced = Lot.objects.filter(supplier=supplier, item__in=[item.pk for item in items], unit_cost__isnull=False)
    latest = priced.order_by().values("item_id").annotate(last=Max("id")).values("last")
    return {lot.item_id: lot.unit_cost for lot in Lot.objects.filter(pk__in=latest) if lot.unit_cost is not None}
