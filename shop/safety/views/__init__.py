"""The pages of safety, by topic."""

from shop.safety.views.hazard_sheets import hazards

__all__ = [
    "hazards",
]
