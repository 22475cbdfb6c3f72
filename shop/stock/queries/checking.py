"""Where what is kept beside the ledger differs from it. Reads the whole ledger."""

from django.db.models import F, Q, Sum
from django.db.models.functions import Coalesce

from shop.stock import quality
from shop.stock.models import UNDER_WAY, USE, Item, Lot, Movement, MovementKind, OrderLine, WeekUse


def ledger_faults() -> list[str]:
    """Where the kept balances differ from the sums of the ledger, one sentence each. Reads the whole ledger."""
    found = []
    summed = Lot.objects.annotate(moved=Coalesce(Sum("movements__change"), 0)).exclude(moved=F("on_hand"))
    for lot in summed.select_related("item").order_by("id"):
        found.append(
            f"Lot {lot.code} ({lot.item}, id {lot.pk}): {lot.on_hand} on hand, but its movements add up to {lot.moved}."
        )
    use = Sum("movements__change", filter=Q(movements__kind__in=USE, movements__reversed_by__isnull=True))
    for one in Lot.objects.annotate(used=-Coalesce(use, 0)).exclude(used=F("taken")).order_by("id"):
        found.append(f"Lot {one.code} (id {one.pk}): {one.taken} kept as taken of it, but its ledger says {one.used}.")
    running: dict[int, int] = {}
    lines = Movement.objects.order_by("id").values_list("id", "lot_id", "change", "balance", "item_id", "lot__item_id")
    for pk, lot_id, change, balance, item_id, lot_item_id in lines.iterator(chunk_size=5000):
        running[lot_id] = running.get(lot_id, 0) + change
        if running[lot_id] != balance:
            found.append(
                f"Movement {pk}: balance {balance}, but the lot's movements up to it add up to {running[lot_id]}."
            )
        if item_id != lot_item_id:
            found.append(f"Movement {pk}: filed under item {item_id}, but its lot is of item {lot_item_id}.")
    return found + _week_faults() + _order_faults() + quality.faults()


def _week_faults() -> list[str]:
    """Where the weeks of an item add up to something else than what of it was used and not undone."""
    use = Movement.objects.filter(kind__in=USE, reversed_by__isnull=True).order_by()
    used = dict(use.values_list("item_id").annotate(Sum("change")))
    kept = dict(WeekUse.objects.order_by().values_list("item_id").annotate(Sum("quantity")))
    names = Item.objects.in_bulk(used.keys() | kept.keys())
    return [
        f"{names[item].name} (id {item}): its weeks add up to {kept.get(item, 0)}, its ledger to {-used.get(item, 0)}."
        for item in sorted(used.keys() | kept.keys())
        if kept.get(item, 0) != -used.get(item, 0)
    ]


def _order_faults() -> list[str]:
    """Where a line of an order counts something else as come than what was received on it, or is open when it should
    not be."""
    received = Movement.objects.filter(
        kind=MovementKind.RECEIVED, reversed_by__isnull=True, lot__order_line__isnull=False
    )
    came = dict(received.order_by().values_list("lot__order_line").annotate(Sum("change")))
    found = []
    for line in OrderLine.objects.select_related("item", "order").order_by("id").iterator(chunk_size=5000):
        if line.arrived != came.get(line.pk, 0):
            found.append(
                f"Order {line.order_id}, {line.item.name}: {line.arrived} counted as come, but {came.get(line.pk, 0)} "
                "received on it."
            )
        if line.is_open != (line.order.state in UNDER_WAY and line.open_quantity > 0):
            found.append(f"Order {line.order_id}, {line.item.name}: kept as {'' if line.is_open else 'not '}open.")
    return found
