"""The room's air: its humidity, solvent vapour, and the room as a box.

Whole-room figures assume perfect mixing: near a spill the air passes any limit long before the room's average does.
Limits in rules are printed both in ppm and in mg/m3 and are rounded apart; never make one from the other.
"""

from shop.calc.air.box import (
    Spill,
    Wipes,
    dilution_air_m3_h,
    fire_dilution_air_m3_h,
    gas_percent_in_room,
    mean_concentration,
    purge_air_changes,
    purge_hours,
    room_concentration,
    spill,
    wipes,
)
from shop.calc.air.humidity import (
    absolute_humidity_g_m3,
    dew_point_c,
    relative_humidity_percent,
    saturation_vapour_pressure_pa,
)
from shop.calc.air.outside import Outside, Piece, Spell, time_outside, time_outside_of_pieces
from shop.calc.air.vapour import (
    SOLVENTS,
    Antoine,
    Solvent,
    grams_at_fraction_of_lel,
    grams_to_fraction_of_lel,
    mg_m3_from_ppm,
    molar_volume_l,
    ppm_from_mg_m3,
    saturated_percent,
    solvent,
    vapour_m3,
    vapour_pressure_pa,
)

__all__ = [
    "SOLVENTS",
    "Antoine",
    "Outside",
    "Piece",
    "Solvent",
    "Spell",
    "Spill",
    "Wipes",
    "absolute_humidity_g_m3",
    "dew_point_c",
    "dilution_air_m3_h",
    "fire_dilution_air_m3_h",
    "gas_percent_in_room",
    "grams_at_fraction_of_lel",
    "grams_to_fraction_of_lel",
    "mean_concentration",
    "mg_m3_from_ppm",
    "molar_volume_l",
    "ppm_from_mg_m3",
    "purge_air_changes",
    "purge_hours",
    "relative_humidity_percent",
    "room_concentration",
    "saturated_percent",
    "saturation_vapour_pressure_pa",
    "solvent",
    "spill",
    "time_outside",
    "time_outside_of_pieces",
    "vapour_m3",
    "vapour_pressure_pa",
    "wipes",
]
