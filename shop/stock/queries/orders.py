"""Orders as the pages show them, and what is still to come of them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Max, Prefetch, QuerySet

from shop.stock.amounts import whole_packs
from shop.stock.models import STILL_TO_COME, UNDER_WAY, Item, Lot, Order, OrderLine, Supplier
from shop.stock.queries.levels import Level, levels, shelf

_SOONEST = (F("order__expected_on").asc(nulls_last=True), "order_id", "id")


def orders() -> QuerySet[Order]:
    """Orders with their supplier and lines, latest first."""
    lines = OrderLine.objects.select_related("item")
    return Order.objects.select_related("supplier").prefetch_related(Prefetch("lines", lines)).order_by("-id")


def orders_under_way() -> QuerySet[Order]:
    """Those of which something is still to come, the one expected soonest first."""
    return orders().filter(state__in=UNDER_WAY).order_by(F("expected_on").asc(nulls_last=True), "id")


def lines_with_lots(order: Order) -> list[OrderLine]:
    """The order's lines with the lots that came on them, as `came`: two queries."""
    came = Lot.objects.filter(order_line__isnull=False).order_by("received_on", "id")
    return list(order.lines.select_related("item").prefetch_related(Prefetch("lots", came, to_attr="came")))


def to_come() -> list[OrderLine]:
    """The lines of which something is still to come, with order, supplier and item, soonest first; from `shelf`."""
    lines = {item.coming.pk: item.coming for item in shelf() if hasattr(item, "coming")}.values()
    return sorted(lines, key=lambda line: (line.order.expected_on or date.max, line.order_id, line.pk))


def to_come_of(item: Item) -> list[OrderLine]:
    """What is still to come of one item, soonest first."""
    lines = OrderLine.objects.filter(STILL_TO_COME, item=item).select_related("order__supplier", "item")
    return list(lines.order_by(*_SOONEST))


# What to put on a draft -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Offer:
    """An item as it is offered on a draft, quantities in its unit.

    coming: still to come of open orders. suggested: what would bring it to twice its minimum, in whole packs; 0 while
    what there is and comes reaches the minimum. last_cost: what the latest lot from that supplier cost for one.
    """

    item: Item
    level: Level
    coming: int
    suggested: int
    last_cost: Decimal | None


def offers(supplier: Supplier, day: date) -> list[Offer]:
    """The kept items that usually come from this supplier: those to order first, then by name."""
    items = list(Item.objects.filter(supplier=supplier, is_active=True).order_by("name"))
    there, costs = levels(day, items), last_costs(supplier, items)
    coming: dict[int, int] = {}
    for line in OrderLine.objects.filter(STILL_TO_COME, item__in=items):
        coming[line.item_id] = coming.get(line.item_id, 0) + line.open_quantity
    found = [_offer(item, there.get(item.pk, Level()), coming.get(item.pk, 0), costs.get(item.pk)) for item in items]
    return sorted(found, key=lambda offer: not offer.suggested)


def _offer(item: Item, level: Level, coming: int, last_cost: Decimal | None) -> Offer:
    reaches = level.usable + coming
    suggested = whole_packs(item, 2 * item.minimum - reaches) if reaches < item.minimum else 0
    return Offer(item, level, coming, suggested, last_cost)


def last_costs(supplier: Supplier, items: Iterable[Item]) -> dict[int, Decimal]:
    """What one of each item cost in the latest lot of it from this supplier that has a cost, by item id."""
    priced = Lot.objects.filter(supplier=supplier, item__in=[item.pk for item in items], unit_cost__isnull=False)
    latest = priced.order_by().values("item_id").annotate(last=Max("id")).values("last")
    return {lot.item_id: lot.unit_cost for lot in Lot.objects.filter(pk__in=latest) if lot.unit_cost is not None}
