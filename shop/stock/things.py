"""What of the stock a note in the log can be about."""

from django.db.models import Value

from shop.log.things import Sort, joined
from shop.stock.models import Count, Item, Lot, Order, Supplier

THINGS = (
    Sort("item", "Item", Item, "stock:item", "name"),
    Sort("lot", "Lot", Lot, "stock:lot", "code", joined("code", Value(", "), "item__name")),
    Sort("order", "Order", Order, "stock:order", "pk", joined(Value("Order "), "pk", Value(", "), "supplier__name")),
    Sort("supplier", "Supplier", Supplier, "stock:supplier", "name"),
    Sort("count", "Count", Count, "stock:count", "pk", joined(Value("Count "), "pk"), is_found=False),
)
