"""The pages of safety, by topic."""

from shop.safety.views.hazard_sheets import hazards
from shop.safety.views.supplier_sheets import (
    add_supplier_sheet,
    supplier_sheet,
    supplier_sheet_file,
    supplier_sheets,
    supplier_sheets_of,
    withdraw_supplier_sheet,
)
from shop.safety.views.wall import keep_call_numbers, keep_extinguishers, keep_shut_offs, wall, wall_card

__all__ = [
    "add_supplier_sheet",
    "hazards",
    "keep_call_numbers",
    "keep_extinguishers",
    "keep_shut_offs",
    "supplier_sheet",
    "supplier_sheet_file",
    "supplier_sheets",
    "supplier_sheets_of",
    "wall",
    "wall_card",
    "withdraw_supplier_sheet",
]
