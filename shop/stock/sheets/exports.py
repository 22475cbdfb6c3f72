"""What of stock can be carried away, and what stands in each file. What can come in has the headings of its sheet."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from shop import clock
from shop.paging import walk
from shop.stock import queries
from shop.stock.filters import ItemFilter, LedgerFilter, LotFilter, OrderFilter
from shop.stock.models import BlankSize, Item, ItemKind, Lot, Movement, Order, PastUse, StockUnit, Supplier
from shop.stock.sheets.columns import ITEMS, LOTS, PAST_USE, SUPPLIERS, Sheet

#: The most rows of an XLSX file: more would take longer than anybody waits. As CSV there is no end.
MOST_IN_WORKBOOK = 50_000

#: The rows of a file that a batch of rows of a table makes.
Lines = Iterable[Sequence[object]]


@dataclass(frozen=True)
class Export:
    """One list. rows: of it, narrowed as its page is by the same query; by: the order they come in.

    lines: of a batch of them; whole: the query by which nothing is left out, "" where that is so without one.
    """

    name: str
    title: str
    headings: tuple[str, ...]
    rows: Callable[[Mapping[str, Any]], QuerySet[Any]]
    by: tuple[str, ...]
    lines: Callable[[list[Any]], Lines]
    whole: str = ""

    def is_long(self, query: Mapping[str, Any]) -> bool:
        """Whether it is more than a workbook is made for."""
        return self.rows(query).order_by(*self.by)[MOST_IN_WORKBOOK : MOST_IN_WORKBOOK + 1].exists()

    def batches(self, query: Mapping[str, Any]) -> Iterator[Lines]:
        for rows in walk(self.rows(query), by=self.by):
            yield self.lines(rows)


def _headings(sheet: Sheet, *more: str) -> tuple[str, ...]:
    return (*(column.heading for column in sheet.columns), *more)


def _unit(item: Item) -> str:
    return StockUnit(item.unit).label


def _suppliers(batch: list[Supplier]) -> Lines:
    return [
        (
            supplier.name,
            supplier.lead_days,
            supplier.lead_note,
            supplier.contact,
            supplier.note,
            supplier.is_active,
        )
        for supplier in batch
    ]


def _items(batch: list[Item]) -> Lines:
    levels = queries.levels(clock.today(), batch)

    def line(item: Item) -> Sequence[object]:
        level = levels.get(item.pk, queries.Level())
        return (
            item.name,
            ItemKind(item.kind).label,
            item.blank_in,
            _unit(item),
            item.minimum,
            item.shelf_days,
            item.warn_days,
            item.supplier.name if item.supplier else "",
            item.pack_size,
            item.minimum_order,
            round(100 * item.service_level, 4),
            item.cover_weeks,
            item.expected_weekly,
            item.shelf_room,
            item.place,
            item.note,
            item.is_active,
            level.on_hand,
            level.usable,
            level.held,
            level.past_date,
        )

    return map(line, batch)


def _lots(batch: list[Lot]) -> Lines:
    return [
        (
            lot.item.name,
            lot.supplier.name if lot.supplier else "",
            lot.code,
            lot.on_hand,
            _unit(lot.item),
            lot.received_on,
            lot.made_on,
            lot.best_before,
            lot.unit_cost,
            lot.note,
            (lot.held_why or "no reason given") if lot.is_held else "",
            lot.last_day,
            lot.item.place,
            BlankSize(lot.item.blank_in).label if lot.item.blank_in else "",
        )
        for lot in batch
    ]


def _ledger(batch: list[Movement]) -> Lines:
    return [
        (
            line.pk,
            line.at,
            line.recorded_at,
            line.get_kind_display(),
            line.item.name,
            _unit(line.item),
            line.lot.code,
            line.change,
            line.balance,
            line.by.name,
            line.defect.name if line.defect else "",
            line.note,
            line.reverses_id,
        )
        for line in batch
    ]


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
            _unit(line.item),
            line.quantity,
            line.arrived,
            line.open_quantity if order.is_under_way else 0,
            line.unit_cost,
            order.note,
        )
        for order in batch
        for line in order.lines.all()
    ]


def _past_use(batch: list[PastUse]) -> Lines:
    return [
        (
            use.item.name,
            use.day if use.whole_week else None,
            None if use.whole_week else use.day,
            use.quantity,
            _unit(use.item),
        )
        for use in batch
    ]


EXPORTS = {
    export.name: export
    for export in (
        Export(
            "items",
            "Items",
            _headings(ITEMS, "On hand", "Usable", "On hold", "Past the date"),
            lambda query: ItemFilter(query, queryset=queries.items()).qs,
            ("name",),
            _items,
            whole="kept=all",
        ),
        Export(
            "suppliers", "Suppliers", _headings(SUPPLIERS), lambda query: Supplier.objects.all(), ("name",), _suppliers
        ),
        Export(
            "lots",
            "Lots",
            _headings(LOTS, "Usable through", "Place", "Blank size"),
            lambda query: LotFilter(query, queryset=queries.lots()).qs,
            ("id",),
            _lots,
            whole="which=all",
        ),
        Export(
            "ledger",
            "Ledger",
            (
                "Number",
                "When",
                "Entered",
                "What",
                "Item",
                "Unit",
                "Lot",
                "Change",
                "Left in lot",
                "Who",
                "Defect",
                "Note",
                "Undoes number",
            ),
            lambda query: LedgerFilter(query, queryset=queries.movements()).qs,
            ("at", "id"),
            _ledger,
        ),
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
        ),
        Export(
            "past-use",
            "Past use",
            _headings(PAST_USE),
            lambda query: PastUse.objects.select_related("item"),
            ("id",),
            _past_use,
        ),
    )
}
