"""Everything that writes stock, by topic: what comes, what goes, what is known of a lot, what is kept at all."""

from shop.stock.actions.catalogue import (
    add_defect,
    add_item,
    add_supplier,
    change_defect,
    change_item,
    change_supplier,
)
from shop.stock.actions.coming import receive_delivery
from shop.stock.actions.going import count_lot, return_stock, reverse_movement, spoil_stock, test_stock, use_stock
from shop.stock.actions.lots import correct_lot, hold_lot, release_lot
from shop.stock.actions.planning import plan_item

__all__ = [
    "add_defect",
    "add_item",
    "add_supplier",
    "change_defect",
    "change_item",
    "change_supplier",
    "correct_lot",
    "count_lot",
    "hold_lot",
    "plan_item",
    "receive_delivery",
    "release_lot",
    "return_stock",
    "reverse_movement",
    "spoil_stock",
    "test_stock",
    "use_stock",
]
