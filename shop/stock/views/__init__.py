"""The pages of stock, by topic."""

from shop.stock.views.catalogue import (
    add_defect,
    add_item,
    add_supplier,
    change_defect,
    change_item,
    change_supplier,
    defects,
    plan_item,
    suppliers,
)
from shop.stock.views.labels import lot_labels, lot_labels_pdf, shelf_labels, shelf_labels_pdf
from shop.stock.views.levels import item, items, receive_delivery
from shop.stock.views.lots import (
    correct_lot,
    count_lot,
    hold_lot,
    lot,
    lots,
    release_lot,
    return_stock,
    spoil_stock,
    test_stock,
    use_stock,
)
from shop.stock.views.movements import ledger, reverse_movement

__all__ = [
    "add_defect",
    "add_item",
    "add_supplier",
    "change_defect",
    "change_item",
    "change_supplier",
    "correct_lot",
    "count_lot",
    "defects",
    "hold_lot",
    "item",
    "items",
    "ledger",
    "lot",
    "lot_labels",
    "lot_labels_pdf",
    "lots",
    "plan_item",
    "receive_delivery",
    "release_lot",
    "return_stock",
    "reverse_movement",
    "shelf_labels",
    "shelf_labels_pdf",
    "spoil_stock",
    "suppliers",
    "test_stock",
    "use_stock",
]
