"""Everything that safety writes, by topic."""

from shop.safety.actions.supplier_sheets import (
    add_supplier_sheet,
    withdraw_supplier_sheet,
)
from shop.safety.actions.wall import (
    WantedExtinguisher,
    WantedNumber,
    WantedShutOff,
    keep_call_numbers,
    keep_extinguishers,
    keep_shut_offs,
)

__all__ = [
    "WantedExtinguisher",
    "WantedNumber",
    "WantedShutOff",
    "add_supplier_sheet",
    "keep_call_numbers",
    "keep_extinguishers",
    "keep_shut_offs",
    "withdraw_supplier_sheet",
]
