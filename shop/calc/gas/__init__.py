"""What is in a nitrogen cylinder, and what nitrogen let out does to the air of a room.

CoolProp takes a second or two to load and does so on the first call; `load()` does it beforehand.
"""

from shop.calc.gas.cylinder import (
    ATM_BAR,
    Leak,
    contents_fraction,
    gauge_bar_at,
    hours_of_gas,
    leak_rate,
    load,
    nitrogen_density_kg_m3,
    nitrogen_mass_kg,
    standard_volume_m3,
)
from shop.calc.gas.lasting import GasLasts, GasPace, Gauged, gas_lasts, gas_pace
from shop.calc.gas.losing import GasHabit, GasLoss, Stood, gas_habit, gas_losses, without_losses
from shop.calc.gas.oxygen import (
    AIR_OXYGEN,
    LEAVE_AT,
    MIXINGS,
    SHORT_OF_OXYGEN,
    Mixing,
    hours_until_oxygen,
    hours_until_oxygen_extracted,
    largest_release_m3_h,
    largest_release_supplied_m3_h,
    oxygen_after_release,
    oxygen_extracted,
    oxygen_supplied,
    smallest_room_m3,
)
from shop.calc.gas.stamps import INTERVALS, TestStamp, read_stamp, requalify_by

__all__ = [
    "AIR_OXYGEN",
    "ATM_BAR",
    "INTERVALS",
    "LEAVE_AT",
    "MIXINGS",
    "SHORT_OF_OXYGEN",
    "GasHabit",
    "GasLasts",
    "GasLoss",
    "GasPace",
    "Gauged",
    "Leak",
    "Mixing",
    "Stood",
    "TestStamp",
    "contents_fraction",
    "gas_habit",
    "gas_lasts",
    "gas_losses",
    "gas_pace",
    "gauge_bar_at",
    "hours_of_gas",
    "hours_until_oxygen",
    "hours_until_oxygen_extracted",
    "largest_release_m3_h",
    "largest_release_supplied_m3_h",
    "leak_rate",
    "load",
    "nitrogen_density_kg_m3",
    "nitrogen_mass_kg",
    "oxygen_after_release",
    "oxygen_extracted",
    "oxygen_supplied",
    "read_stamp",
    "requalify_by",
    "smallest_room_m3",
    "standard_volume_m3",
    "without_losses",
]
