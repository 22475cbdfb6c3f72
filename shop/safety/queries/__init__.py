"""Everything that is read of safety, by topic."""

from shop.safety.queries.hazard_sheets import (
    SheetState,
    latest_versions,
    sheet_states,
    version_in_force,
    versions_in_force,
)
from shop.safety.queries.supplier_sheets import (
    sections_of,
    statements_of,
    supplier_sheet_in_force,
    supplier_sheets_in_force,
    supplier_sheets_in_force_of,
    supplier_sheets_of,
    supplier_shelves,
    urgent_sections_of,
)
from shop.safety.queries.wall import Wall, call_numbers, fire_advice, wall

__all__ = [
    "SheetState",
    "Wall",
    "call_numbers",
    "fire_advice",
    "latest_versions",
    "sections_of",
    "sheet_states",
    "statements_of",
    "supplier_sheet_in_force",
    "supplier_sheets_in_force",
    "supplier_sheets_in_force_of",
    "supplier_sheets_of",
    "supplier_shelves",
    "urgent_sections_of",
    "version_in_force",
    "versions_in_force",
    "wall",
]
