"""The tables of the room, by topic."""

from shop.room.models.cylinders import Cylinder, GasUse
from shop.room.models.readings import LIMIT_ORDER, Limit, LimitKind, Reading, ReadingKind

__all__ = [
    "LIMIT_ORDER",
    "Cylinder",
    "GasUse",
    "Limit",
    "LimitKind",
    "Reading",
    "ReadingKind",
]
