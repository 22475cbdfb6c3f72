"""What people do in the room, by topic: readings, cylinders, the shop's own limits."""

from shop.room.actions.cylinders import add_cylinder, connect_cylinder, empty_cylinder, return_cylinder
from shop.room.actions.figures import change_gas_use, change_limit
from shop.room.actions.readings import correct_reading, take_readings

__all__ = [
    "add_cylinder",
    "change_gas_use",
    "change_limit",
    "connect_cylinder",
    "correct_reading",
    "empty_cylinder",
    "return_cylinder",
    "take_readings",
]
