"""Everything that is read of safety, by topic."""

from shop.safety.queries.hazard_sheets import (
    SheetState,
    latest_versions,
    sheet_states,
    version_in_force,
    versions_in_force,
)
from shop.safety.queries.wall import Wall, call_numbers, fire_advice, wall

__all__ = [
    "SheetState",
    "Wall",
    "call_numbers",
    "fire_advice",
    "latest_versions",
    "sheet_states",
    "version_in_force",
    "versions_in_force",
    "wall",
]
