"""Makers for duties."""

from typing import Any

from shop.duties.models import Meter


def make_meter(key: str = "chip", **other: Any) -> Meter:
    """A meter as the starter content brings it; no action makes one."""
    facts = {
        "chip": {
            "name": "Chip in the trap",
            "unit": "mg",
            "reset_word": "trap emptied",
            "care_at": 6000,
            "hold_at": 12000,
        },
        "line": {"name": "Vacuum line", "unit": "s", "reset_word": "line cleaned", "care_at": 72000, "hold_at": 144000},
    }[key]
    return Meter.objects.create(key=key, **facts | other)
