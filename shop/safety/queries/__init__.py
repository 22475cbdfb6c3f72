"""Everything that is read of safety, by topic."""

from shop.safety.queries.hazard_sheets import (
    SheetState,
    latest_versions,
    sheet_states,
    version_in_force,
    versions_in_force,
)

__all__ = [
    "SheetState",
    "latest_versions",
    "sheet_states",
    "version_in_force",
    "versions_in_force",
]
