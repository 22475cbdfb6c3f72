"""Orders, and what lies ahead of each item, carried away."""

from collections.abc import Sequence

from shop import clock
from shop.carrying.lists import Export, Lines
from shop.stock import queries
from shop.stock.exports.kept import unit_of_item
from shop.stock.exports.money import MONEY
from shop.stock.figures import current_figures
from shop.stock.filters import OrderFilter, OutlookFilter
from shop.stock.models import Item, ItemKind, Order, ReorderFigure
from shop.stock.queries.outlook import present


def _orders(batch: list[Order]) -> Lines:
    """A row for each line of an order."""
    return [
        (
            order.pk,
            order.get_state_display(),
            order.supplier.name,
            order.sent_on,
            order.expected_on,
            order.received_on,
            line.item.name,
            unit_of_item(line.item),
            line.quantity,
            line.arrived,
            line.open_quantity if order.is_under_way else 0,
            line.unit_cost,
            order.note,
        )
        for order in batch
        for line in order.lines.all()
    ]


def _outlook(batch: list[Item]) -> Lines:
    """The figures as the page gives them: what is no longer current is worked out anew, and not kept."""
    here = present(clock.today())
    figures = {figure.item_id: figure for figure in current_figures(here, clock.now(), {item.pk for item in batch})}

    def line(item: Item) -> Sequence[object]:
        # one that is no longer kept since it was listed has none
        figure = figures.get(item.pk) or ReorderFigure(usable=0, on_order=0, booked=0, weeks=0)
        return (
            item.name,
            ItemKind(item.kind).label,
            unit_of_item(item),
            "" if figure.per_week is not None else "no use known yet",
            figure.order_by,
            figure.order_by is not None and figure.order_by <= here.day,
            figure.runs_out_on,
            None if figure.chance_out is None else round(100 * figure.chance_out, 1),
            figure.quantity or None,
            None if figure.per_week is None else round(figure.per_week, 2),
            figure.reorder_point,
            figure.usable,
            here.held(item.pk),
            figure.on_order,
            figure.booked,
            figure.weeks,
            round(100 * item.service_level, 4),
            item.supplier.name if item.supplier else "",
        )

    return map(line, batch)


ORDERS = (
    Export(
        "orders",
        "Orders",
        (
            "Order",
            "State",
            "Supplier",
            "Sent on",
            "Expected on",
            "Received on",
            "Item",
            "Unit",
            "Ordered",
            "Came",
            "Still to come",
            "Price of one",
            "Note",
        ),
        lambda query: OrderFilter(query, queryset=queries.orders()).qs,
        ("id",),
        _orders,
        whole="state=all",
        guarded=MONEY,
    ),
    Export(
        "outlook",
        "Outlook",
        (
            "Item",
            "Kind",
            "Unit",
            "Known",
            "Order by",
            "Order now",
            "Runs out around",
            "Out before it comes, %",
            "Suggested",
            "Expected use a week",
            "Time to order at or below",
            "Usable",
            "On hold",
            "On order",
            "Booked",
            "Weeks of use known",
            "Service level, %",
            "Usual supplier",
        ),
        lambda query: OutlookFilter(query, queryset=queries.items().filter(is_active=True)).qs,
        ("name",),
        _outlook,
    ),
)
