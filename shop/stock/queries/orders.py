"""Orders as the pages show them, and what is still to come of them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import F, Prefetch, QuerySet, Sum

from shop.stock.models import STILL_TO_COME, UNDER_WAY, Item, Lot, Movement, MovementKind, Order, OrderLine
from shop.stock.queries.levels import shelf

_SOONEST = (F("order__expected_on").asc(nulls_last=True), "order_id", "id")


def orders() -> QuerySet[Order]:
    """Orders with their supplier and lines, latest first."""
    lines = OrderLine.objects.select_related("item")
    return Order.objects.select_related("supplier").prefetch_related(Prefetch("lines", lines)).order_by("-id")


def orders_under_way() -> QuerySet[Order]:
    """Those of which something is still to come, the one expected soonest first."""
    return orders().filter(state__in=UNDER_WAY).order_by(F("expected_on").asc(nulls_last=True), "id")


def lines_with_lots(order: Order) -> list[OrderLine]:
    """The order's lines with the lots that came on them, as `came`, and what became of these, as `gone`: three
    queries."""
    came = Lot.objects.filter(order_line__isnull=False).order_by("received_on", "id")
    lines = list(order.lines.select_related("item").prefetch_related(Prefetch("lots", came, to_attr="came")))
    gone = gone_of(lot.pk for line in lines for lot in line.came)
    for line in lines:
        of_line = [gone[lot.pk] for lot in line.came if lot.pk in gone]
        line.gone = Gone(sum(one.went_back for one in of_line), sum(one.spoiled for one in of_line))
    return [*lines]


@dataclass(frozen=True)
class Gone:
    """How much went back to its supplier and how much was spoiled, without what was undone."""

    went_back: int = 0
    spoiled: int = 0


def gone_of(lots: Iterable[int]) -> dict[int, Gone]:
    """That of some lots, by id; those of which nothing did are left out: one query."""
    kinds = (MovementKind.RETURNED, MovementKind.SPOILED)
    stands = Movement.objects.filter(lot__in=list(lots), kind__in=kinds, reversed_by__isnull=True)
    rows = stands.order_by().values("lot", "kind").annotate(sum=Sum("change"))
    found: dict[int, dict[str, int]] = {}
    for row in rows:
        found.setdefault(row["lot"], {})[row["kind"]] = -row["sum"]
    return {lot: Gone(sums.get(kinds[0], 0), sums.get(kinds[1], 0)) for lot, sums in found.items()}


def to_come() -> list[OrderLine]:
    """The lines of which something is still to come, with order, supplier and item, soonest first; from `shelf`."""
    lines = {item.coming.pk: item.coming for item in shelf() if hasattr(item, "coming")}.values()
    return sorted(lines, key=lambda line: (line.order.expected_on or date.max, line.order_id, line.pk))


def to_come_of(item: Item) -> list[OrderLine]:
    """What is still to come of one item, soonest first."""
    lines = OrderLine.objects.filter(STILL_TO_COME, item=item).select_related("order__supplier", "item")
    return list(lines.order_by(*_SOONEST))
