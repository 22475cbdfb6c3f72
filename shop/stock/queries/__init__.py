"""Reading stock, shaped for the pages, by topic."""

from shop.stock.queries.checking import ledger_faults
from shop.stock.queries.levels import (
    BlankStock,
    Level,
    blank_stock,
    full_at,
    items_on_shelf,
    level_of,
    levels,
    levels_on_shelf,
    lots_on_shelf,
    lots_to_watch,
    shelf,
)
from shop.stock.queries.lists import (
    ItemLine,
    LotLine,
    empty_lots,
    is_void,
    items,
    lot_lines,
    lot_movements,
    lots_on_hand,
    movements,
)
from shop.stock.queries.picking import PICKING_ORDER, first_lot, in_date, usable_lots

__all__ = [
    "PICKING_ORDER",
    "BlankStock",
    "ItemLine",
    "Level",
    "LotLine",
    "blank_stock",
    "empty_lots",
    "first_lot",
    "full_at",
    "in_date",
    "is_void",
    "items",
    "items_on_shelf",
    "ledger_faults",
    "level_of",
    "levels",
    "levels_on_shelf",
    "lot_lines",
    "lot_movements",
    "lots_on_hand",
    "lots_on_shelf",
    "lots_to_watch",
    "movements",
    "shelf",
    "usable_lots",
]
