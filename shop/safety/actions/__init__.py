"""Everything that safety writes, by topic."""

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
    "keep_call_numbers",
    "keep_extinguishers",
    "keep_shut_offs",
]
