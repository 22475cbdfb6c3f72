"""The pages of safety, by topic."""

from shop.safety.views.hazard_sheets import hazards
from shop.safety.views.wall import keep_call_numbers, keep_extinguishers, keep_shut_offs, wall, wall_card

__all__ = [
    "hazards",
    "keep_call_numbers",
    "keep_extinguishers",
    "keep_shut_offs",
    "wall",
    "wall_card",
]
