"""What the room's cylinders come to, for the pages of places, which know nothing of the room."""

from shop.calc import gas
from shop.room import queries
from shop.room.contents import full_kg
from shop.safety.cylinders_here import Listed
from shop.safety.in_short import ROOM_C


def listed() -> Listed:
    """The connected cylinder and the full ones, each as delivered: one query."""
    rack = queries.cylinder_rack()
    here = [each for each in (rack.connected, *rack.spares) if each is not None]
    kg = sum(full_kg(each) for each in here)
    return Listed(
        count=len(here),
        water_l=sum(each.water_volume_l for each in here),
        gas_m3=gas.standard_volume_m3(kg, ROOM_C, gas.ATM_BAR),
    )
