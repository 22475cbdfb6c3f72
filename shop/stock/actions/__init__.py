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
from shop.stock.actions.counts import (
    Counted,
    Explained,
    add_to_count,
    agree_count,
    drop_count,
    enter_count,
    explain_count,
    give_in_count,
    start_count,
)
from shop.stock.actions.going import count_lot, return_stock, reverse_movement, spoil_stock, test_stock, use_stock
from shop.stock.actions.inspections import Found, inspect_lot
from shop.stock.actions.lots import correct_lot, hold_lot, release_lot
from shop.stock.actions.orders import (
    WantedLine,
    change_order,
    close_order_short,
    draft_order,
    drop_order,
    promise_anew,
    receive_on_order,
    send_order,
)
from shop.stock.actions.planning import plan_item
from shop.stock.actions.sheets import answer_sheet, drop_sheet, send_sheet, take_in_sheet, withdraw_past_use

__all__ = [
    "Counted",
    "Explained",
    "Found",
    "WantedLine",
    "add_defect",
    "add_item",
    "add_supplier",
    "add_to_count",
    "agree_count",
    "answer_sheet",
    "change_defect",
    "change_item",
    "change_order",
    "change_supplier",
    "close_order_short",
    "correct_lot",
    "count_lot",
    "draft_order",
    "drop_count",
    "drop_order",
    "drop_sheet",
    "enter_count",
    "explain_count",
    "give_in_count",
    "hold_lot",
    "inspect_lot",
    "plan_item",
    "promise_anew",
    "receive_delivery",
    "receive_on_order",
    "release_lot",
    "return_stock",
    "reverse_movement",
    "send_order",
    "send_sheet",
    "spoil_stock",
    "start_count",
    "take_in_sheet",
    "test_stock",
    "use_stock",
    "withdraw_past_use",
]
