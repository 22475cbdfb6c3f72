"""What is on the shelf, what became of it and whom it comes from, carried away; what can come in under the headings of
its sheet."""

from collections.abc import Sequence

from django.db.models import Exists, OuterRef

from shop import clock
from shop.carrying.lists import Export, Lines
from shop.people.models import ENGINEERS
from shop.people.queries import the_room
from shop.stock import queries
from shop.stock.exports.money import MONEY
from shop.stock.filters import ItemFilter, LedgerFilter, LotFilter
from shop.stock.models import BlankSize, Defect, Item, ItemKind, Lot, Movement, PastUse, StockUnit, Supplier
from shop.stock.sheets.columns import ITEMS, LOTS, PAST_USE, SUPPLIERS, Sheet


def _headings(sheet: Sheet, *more: str) -> tuple[str, ...]:
    return (*(column.heading for column in sheet.columns), *more)


def unit_of_item(item: Item) -> str:
    """As the sheets name it."""
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
            unit_of_item(item),
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
            unit_of_item(lot.item),
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
            unit_of_item(line.item),
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


def _past_use(batch: list[PastUse]) -> Lines:
    return [
        (
            use.item.name,
            use.day if use.whole_week else None,
            None if use.whole_week else use.day,
            use.quantity,
            unit_of_item(use.item),
        )
        for use in batch
    ]


def _worth(batch: list[Item]) -> Lines:
    found = {one.item.pk: one for one in queries.stock_worth(clock.today()).items}
    currency = the_room().currency
    return [
        (
            item.name,
            unit_of_item(item),
            found[item.pk].on_hand,
            found[item.pk].of_all.value,
            found[item.pk].unusable,
            found[item.pk].of_all.unpriced,
            currency,
        )
        for item in batch
        if item.pk in found
    ]


def _defects(batch: list[Defect]) -> Lines:
    return [(defect.name, defect.blames_lot, defect.is_active) for defect in batch]


KEPT = (
    Export(
        "items",
        "Items",
        _headings(ITEMS, "On hand", "Usable", "On hold", "Past the date"),
        lambda query: ItemFilter(query, queryset=queries.items()).qs,
        ("name",),
        _items,
        whole="kept=all",
    ),
    Export("suppliers", "Suppliers", _headings(SUPPLIERS), lambda query: Supplier.objects.all(), ("name",), _suppliers),
    Export(
        "lots",
        "Lots",
        _headings(LOTS, "Usable through", "Place", "Blank size"),
        lambda query: LotFilter(query, queryset=queries.lots()).qs,
        ("id",),
        _lots,
        whole="which=all",
        guarded=MONEY,
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
            "Left once entered",
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
        "past-use",
        "Past use",
        _headings(PAST_USE),
        lambda query: PastUse.objects.select_related("item"),
        ("id",),
        _past_use,
    ),
    Export(
        "defects",
        "Defects",
        ("Defect", "Speaks against the lot", "Offered"),
        lambda query: Defect.objects.all(),
        ("name",),
        _defects,
    ),
    Export(
        "worth",
        "Worth of stock",
        ("Item", "Unit", "On hand", "Worth", "Of it on hold or past its date", "Without a price", "Currency"),
        lambda query: Item.objects.filter(Exists(Lot.objects.filter(item=OuterRef("pk"), on_hand__gt=0))),
        ("name",),
        _worth,
        roles=ENGINEERS,
    ),
)
