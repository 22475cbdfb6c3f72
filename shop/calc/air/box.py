"""The room as a box of well mixed air: what evaporates in it, what a fan takes away.

Perfect mixing is assumed, or a mixing factor: near a spill the air passes any limit long before the room's average
does.
"""

import math
from dataclasses import dataclass

from shop.calc.air.vapour import (
    ATM_PA,
    Solvent,
    lel_percent_of,
    ppm_from_mg_m3,
    room_volume,
    vapour_m3,
)
from shop.calc.bounds import number


def _mixing(value: object) -> float:
    return number("mixing", value, at_least=0.001, at_most=1)


def _air_flow(value: object, *, at_least: float = 0.0) -> float:
    return number("air_m3_h", value, at_least=at_least, at_most=1_000_000)


def room_concentration(
    grams_per_hour: float,
    air_m3_h: float,
    room_m3: float,
    hours: float | None = None,
    *,
    mixing: float = 1.0,
    start_g_m3: float = 0.0,
) -> float:
    """Vapour in the room's air in g/m3 while so much evaporates and fresh air comes in; steady for hours None.

    C = G/(K Q) (1 - exp(-K Q t/V)) + C0 exp(-K Q t/V), with a mixing factor K of at most 1 on the ventilation
    (Basic Concepts of Industrial Hygiene, p. 163, eqs 2 to 5; Univ. of Toledo's formula sheet). Without ventilation it
    only rises: then `hours` is needed.
    """
    emitted = number("grams_per_hour", grams_per_hour, at_least=0, at_most=1e9)
    before = number("start_g_m3", start_g_m3, at_least=0, at_most=1e6)
    room = room_volume(room_m3)
    fresh = _air_flow(air_m3_h, at_least=0.001 if hours is None else 0) * _mixing(mixing)
    if hours is None:
        return emitted / fresh
    time = number("hours", hours, at_least=0, at_most=1e6)
    changes = fresh / room * time
    if changes < 1e-12:
        return before + emitted * time / room
    return emitted / fresh * -math.expm1(-changes) + before * math.exp(-changes)


def gas_percent_in_room(gas_m3_h: float, air_m3_h: float, room_m3: float, hours: float | None = None) -> float:
    """Percent by volume of a gas that leaks into a ventilated room; steady for hours None.

    100 G/(A + G) (1 - exp(-(A + G) t/V)): calcs.firedata.info.
    """
    gas = number("gas_m3_h", gas_m3_h, at_least=0, at_most=1_000_000)
    through = gas + _air_flow(air_m3_h)
    room = room_volume(room_m3)
    time = None if hours is None else number("hours", hours, at_least=0, at_most=1e6)
    if gas == 0:
        return 0.0
    return 100 * gas / through * (1.0 if time is None else -math.expm1(-through * time / room))


def purge_air_changes(start: float, end: float, mixing: float = 1.0) -> float:
    """Changes of air that bring a concentration from start down to end (same unit): ln(start/end)/K.

    US Bureau of Reclamation, HVAC Design Guide, p. 106. 0 if it is already there.
    """
    first = number("start", start, above=0, at_most=1e12)
    last = number("end", end, above=0, at_most=1e12)
    return max(0.0, math.log(first) - math.log(last)) / _mixing(mixing)


def purge_hours(start: float, end: float, room_m3: float, air_m3_h: float, mixing: float = 1.0) -> float:
    """Hours that so much fresh air takes to bring a concentration from start down to end (same unit)."""
    return purge_air_changes(start, end, mixing) * room_volume(room_m3) / _air_flow(air_m3_h, at_least=0.001)


def _vapour_m3_h(grams_per_hour: object, molar_mass_g_mol: float, celsius: float) -> float:
    emitted = number("grams_per_hour", grams_per_hour, at_least=0, at_most=1e9)
    return vapour_m3(emitted, molar_mass_g_mol, celsius)


def dilution_air_m3_h(
    grams_per_hour: float, molar_mass_g_mol: float, limit_ppm: float, *, allowance: float = 1.0, celsius: float = 21.1
) -> float:
    """Fresh air in m3/h that keeps the average of steady evaporation at limit_ppm.

    `allowance` (1 to 10) multiplies it for imperfect mixing. The ACGIH form with 403 in it, in metric units (Univ. of
    Toledo's formula sheet).
    """
    limit = number("limit_ppm", limit_ppm, at_least=0.001, at_most=1e6)
    times = number("allowance", allowance, at_least=1, at_most=10)
    return _vapour_m3_h(grams_per_hour, molar_mass_g_mol, celsius) * 1e6 / limit * times


def fire_dilution_air_m3_h(
    grams_per_hour: float,
    molar_mass_g_mol: float,
    lel_percent: float,
    *,
    allowance: float = 4.0,
    heat_factor: float = 1.0,
    celsius: float = 21.1,
) -> float:
    """Fresh air in m3/h that keeps steady evaporation at 1/allowance of the lower explosive limit.

    allowance 4 is a quarter of the limit; heat_factor is 1 up to 120 C and 0.7 above, where the limit falls (from
    memory). Far less than health asks for.
    """
    times = number("allowance", allowance, at_least=1, at_most=100)
    factor = number("heat_factor", heat_factor, at_least=0.1, at_most=1)
    return _vapour_m3_h(grams_per_hour, molar_mass_g_mol, celsius) * 100 / lel_percent_of(lel_percent) * times / factor


def mean_concentration(
    grams_per_hour: float, air_m3_h: float, room_m3: float, hours: float, *, mixing: float = 1.0
) -> float:
    """Vapour in g/m3 on average over so many hours, while so much evaporates evenly from the first of them on.

    The time average of `room_concentration` from clean air: G/(K Q) [1 - (1 - exp(-n))/n], with n = K Q t/V.
    """
    emitted = number("grams_per_hour", grams_per_hour, at_least=0, at_most=1e9)
    room = room_volume(room_m3)
    fresh = _air_flow(air_m3_h) * _mixing(mixing)
    time = number("hours", hours, above=0, at_most=1e6)
    changes = fresh * time / room
    if changes < 1e-4:  # the first terms of the series; the closed form loses its digits here
        return emitted * time / room * (1 / 2 - changes / 6)
    return emitted / fresh * (1 + math.expm1(-changes) / changes)


@dataclass(frozen=True)
class Spill:
    """A spill that has all evaporated into the whole room, before any of it was carried away.

    vapour_m3: at 1 atm; percent, ppm: of the room's air by volume; of_lel: 1 is the lower explosive limit on average;
    is_all: False where the room's air cannot take it all up, so that liquid would be left.
    """

    grams: float
    vapour_m3: float
    mg_m3: float
    ppm: float
    of_lel: float
    is_all: bool

    @property
    def percent(self) -> float:
        return self.ppm / 10_000

    @property
    def of_lel_percent(self) -> float:
        return 100 * self.of_lel


def spill(ml: float, room_m3: float, figures: Solvent, celsius: float = 20.0, *, full_pa: float = ATM_PA) -> Spill:
    """So many ml spilt, all evaporated and evenly mixed into so many m3, at 1 atm.

    full_pa: vapour pressure at that temperature; beyond it no more evaporates, and the average stays there.
    """
    poured = number("ml", ml, at_least=0, at_most=1e6) * figures.density_g_ml
    room = room_volume(room_m3)
    most = number("full_pa", full_pa, above=0, at_most=1e7) / ATM_PA
    # by volume of what is then in the room's air, the room as large as it was
    share = vapour_m3(poured, figures.molar_mass_g_mol, celsius) / room
    grams = poured if share <= most else poured * most / share
    mg_m3 = grams * 1000 / room
    return Spill(
        grams=grams,
        vapour_m3=vapour_m3(grams, figures.molar_mass_g_mol, celsius),
        mg_m3=mg_m3,
        ppm=ppm_from_mg_m3(mg_m3, figures.molar_mass_g_mol, celsius),
        of_lel=min(share, most) * 100 / lel_percent_of(figures.lel_percent),
        is_all=share <= most,
    )


@dataclass(frozen=True)
class Wipes:
    """Vapour of wiping, on average over the room, in ppm: right after one wipe, and over a whole shift of them."""

    peak_ppm: float
    shift_ppm: float


def wipes(
    ml: float,
    a_shift: int,
    room_m3: float,
    air_m3_h: float,
    figures: Solvent,
    celsius: float = 20.0,
    *,
    minutes: float = 5.0,
    shift_hours: float = 8.0,
    mixing: float = 1.0,
) -> Wipes:
    """So many ml evaporating within so many minutes, so many times in a shift.

    shift_ppm: all of them spread evenly over the shift, by `mean_concentration`; peak_ppm: at the end of one wipe in
    air that holds that much already, by `room_concentration`, which counts that wipe twice and so is a little high.
    ValueError unless 1 to 1000 wipes, 0.1 to 480 minutes, 0.1 to 24 hours.
    """
    grams = number("ml", ml, at_least=0, at_most=1e6) * figures.density_g_ml
    count = number("a_shift", a_shift, at_least=1, at_most=1000)
    time = number("minutes", minutes, at_least=0.1, at_most=480) / 60
    shift = number("shift_hours", shift_hours, at_least=0.1, at_most=24)
    mean = mean_concentration(grams * count / shift, air_m3_h, room_m3, shift, mixing=mixing)
    peak = room_concentration(grams / time, air_m3_h, room_m3, time, mixing=mixing, start_g_m3=mean)
    peak_ppm, shift_ppm = (ppm_from_mg_m3(1000 * each, figures.molar_mass_g_mol, celsius) for each in (peak, mean))
    return Wipes(peak_ppm=peak_ppm, shift_ppm=shift_ppm)
