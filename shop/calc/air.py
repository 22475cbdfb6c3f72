"""Humidity of the room's air, and solvent vapour in it.

Whole-room figures assume perfect mixing: near a spill the air passes any limit long before the room's average does.
Limits in rules are printed both in ppm and in mg/m3 and are rounded apart; never make one from the other.
"""

import math
from dataclasses import dataclass

from shop.calc.bounds import number

_KELVIN = 273.15
_ATM_PA = 101_325.0
_BAR_PA = 100_000.0
#: Molar gas constant, J/(mol K), exact since 2019.
_R = 8.314462618

# Humidity -------------------------------------------------------------------------------------------------------------

#: Magnus over water, WMO-No. 8 annex 4.B: hPa, none, C; for -45 to 60 C.
_MAGNUS_HPA, _MAGNUS_A, _MAGNUS_B = 6.112, 17.62, 243.12
_MAGNUS_LOW, _MAGNUS_HIGH = -45.0, 60.0
#: Gas constant of water vapour, J/(kg K).
_R_WATER = 461.5


def _air_celsius(value: object, name: str = "celsius") -> float:
    return number(name, value, at_least=_MAGNUS_LOW, at_most=_MAGNUS_HIGH)


def saturation_vapour_pressure_pa(celsius: float) -> float:
    """Vapour pressure of water over water in Pa, at -45 to 60 C (Magnus formula, WMO-No. 8 annex 4.B)."""
    celsius = _air_celsius(celsius)
    return 100 * _MAGNUS_HPA * math.exp(_MAGNUS_A * celsius / (_MAGNUS_B + celsius))


def dew_point_c(celsius: float, rh_percent: float) -> float:
    """Dew point in C over water, also below 0 C (where the frost point lies higher), from -45 to 60 C.

    Inverse of the Magnus formula. ValueError for a relative humidity of 0, which has no dew point, or over 100, or so
    low that the dew point falls below -45 C, where the formula ends.
    """
    celsius = _air_celsius(celsius)
    dry = 100 * saturation_vapour_pressure_pa(_MAGNUS_LOW) / saturation_vapour_pressure_pa(celsius)
    humidity = number("rh_percent", rh_percent, at_least=min(100.0, dry), at_most=100)
    if humidity == 100:
        return celsius
    gamma = math.log(humidity / 100) + _MAGNUS_A * celsius / (_MAGNUS_B + celsius)
    return _MAGNUS_B * gamma / (_MAGNUS_A - gamma)


def relative_humidity_percent(celsius: float, dew_point: float) -> float:
    """Relative humidity in percent over water from temperature and dew point (at most the temperature) in C."""
    celsius = _air_celsius(celsius)
    dew_point = number("dew_point", dew_point, at_least=_MAGNUS_LOW, at_most=celsius)
    return 100 * saturation_vapour_pressure_pa(dew_point) / saturation_vapour_pressure_pa(celsius)


def absolute_humidity_g_m3(celsius: float, rh_percent: float) -> float:
    """Water in the air in g/m3, at -45 to 60 C and 0 to 100 percent: vapour pressure over 461.5 J/(kg K) times T."""
    pressure = saturation_vapour_pressure_pa(celsius)
    humidity = number("rh_percent", rh_percent, at_least=0, at_most=100)
    return humidity / 100 * pressure / (_R_WATER * (celsius + _KELVIN)) * 1000


# Solvents -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Antoine:
    """log10(P/bar) = a - b / (T/K + c), good between two temperatures in K."""

    a: float
    b: float
    c: float
    low_k: float
    high_k: float
    source: str

    def pressure_pa(self, celsius: float) -> float:
        return _BAR_PA * 10 ** (self.a - self.b / (celsius + _KELVIN + self.c))


@dataclass(frozen=True)
class Solvent:
    """Reference figures of a solvent. The supplier's own safety data decide."""

    name: str
    molar_mass_g_mol: float
    density_g_ml: float
    lel_percent: float
    antoine: tuple[Antoine, ...]


#: Molar mass: computed from the formula (chemicals library). Lower explosive limit: NFPA 497 and IEC 60079-20-1, read
#: through the same library. Density near 20 C: acetone's by CoolProp, propan-2-ol's a handbook value, from memory.
SOLVENTS: dict[str, Solvent] = {
    "acetone": Solvent(
        "acetone",
        58.079,
        0.790,
        2.5,
        (
            Antoine(4.42448, 1312.253, -32.445, 259.16, 507.60, "NIST WebBook"),
            Antoine(4.2184, 1197.01, -45.09, 247.4, 350.7, "Poling and others, Properties of Gases and Liquids"),
        ),
    ),
    "propan-2-ol": Solvent(
        "propan-2-ol",
        60.095,
        0.785,
        2.0,
        (
            Antoine(5.24268, 1580.92, -53.54, 281.3, 373.5, "Poling and others, Properties of Gases and Liquids"),
            Antoine(4.8610, 1357.427, -75.814, 329.92, 362.41, "NIST WebBook, from memory"),
            Antoine(4.57795, 1221.423, -87.474, 395.1, 508.24, "NIST WebBook, upper range"),
        ),
    ),
}


def solvent(substance: str) -> Solvent:
    """The figures kept for "acetone" or "propan-2-ol"; ValueError for anything else."""
    if substance not in SOLVENTS:
        raise ValueError(f"substance must be one of {', '.join(SOLVENTS)}, not {str(substance)[:30]!r}.")
    return SOLVENTS[substance]


def vapour_pressure_pa(substance: str, celsius: float, *, source: str = "") -> float:
    """Vapour pressure of a solvent in Pa by Antoine's equation.

    Uses the first set of constants whose range holds the temperature (and whose source begins with `source`, if
    given). ValueError if none does: outside its range such an equation says nothing.
    """
    celsius = number("celsius", celsius, above=-_KELVIN, at_most=1000)
    sets = [each for each in solvent(substance).antoine if each.source.startswith(source)]
    if not sets:
        known = "; ".join(each.source for each in solvent(substance).antoine)
        raise ValueError(f"source must begin one of: {known}.")
    for each in sets:
        if each.low_k <= celsius + _KELVIN <= each.high_k:
            return each.pressure_pa(celsius)
    ranges = " or ".join(f"{each.low_k - _KELVIN:.1f} to {each.high_k - _KELVIN:.1f}" for each in sets)
    raise ValueError(f"celsius must be {ranges} for {substance}, not {celsius:.10g}.")


def saturated_percent(substance: str, celsius: float) -> float:
    """Vapour right over the liquid in percent by volume at 1 atm, at most 100."""
    return min(100.0, 100 * vapour_pressure_pa(substance, celsius) / _ATM_PA)


def _molar(value: object) -> float:
    return number("molar_mass_g_mol", value, above=0, at_most=1000)


def molar_volume_l(celsius: float = 25.0, pressure_pa: float = _ATM_PA) -> float:
    """Litres that one mole of an ideal gas takes; 24.465 at 25 C and 1 atm."""
    celsius = number("celsius", celsius, at_least=-100, at_most=200)
    pressure = number("pressure_pa", pressure_pa, at_least=10_000, at_most=1_000_000)
    return 1000 * _R * (celsius + _KELVIN) / pressure


def ppm_from_mg_m3(mg_m3: float, molar_mass_g_mol: float, celsius: float = 25.0, pressure_pa: float = _ATM_PA) -> float:
    """Parts per million by volume of so many mg/m3, at 25 C and 1 atm unless said otherwise."""
    amount = number("mg_m3", mg_m3, at_least=0, at_most=1e9)
    return amount * molar_volume_l(celsius, pressure_pa) / _molar(molar_mass_g_mol)


def mg_m3_from_ppm(ppm: float, molar_mass_g_mol: float, celsius: float = 25.0, pressure_pa: float = _ATM_PA) -> float:
    """mg/m3 of so many parts per million by volume (at most a million), at 25 C and 1 atm unless said otherwise."""
    share = number("ppm", ppm, at_least=0, at_most=1e6)
    return share * _molar(molar_mass_g_mol) / molar_volume_l(celsius, pressure_pa)


def grams_to_fraction_of_lel(
    grams: float, room_m3: float, molar_mass_g_mol: float, lel_percent: float, celsius: float = 20.0
) -> float:
    """So many grams, all evaporated and evenly mixed, as a fraction of the lower explosive limit (1 = at the limit).

    room_m3 is free volume; 1 atm, ideal gas.
    """
    mass = number("grams", grams, at_least=0, at_most=1e9)
    vapour_m3 = mass / _molar(molar_mass_g_mol) * molar_volume_l(celsius) / 1000
    return vapour_m3 / (_room(room_m3) * _lel(lel_percent) / 100)


def grams_at_fraction_of_lel(
    fraction: float, room_m3: float, molar_mass_g_mol: float, lel_percent: float, celsius: float = 20.0
) -> float:
    """Grams that, all evaporated and evenly mixed, make up a fraction of the lower explosive limit; the inverse."""
    share = number("fraction", fraction, at_least=0, at_most=100)
    moles = share * _room(room_m3) * _lel(lel_percent) / 100 * 1000 / molar_volume_l(celsius)
    return moles * _molar(molar_mass_g_mol)


def _room(value: object) -> float:
    return number("room_m3", value, at_least=0.001, at_most=1_000_000)


def _lel(value: object) -> float:
    return number("lel_percent", value, at_least=0.01, at_most=100)


def _mixing(value: object) -> float:
    return number("mixing", value, at_least=0.001, at_most=1)


def _air_flow(value: object, *, at_least: float = 0.0) -> float:
    return number("air_m3_h", value, at_least=at_least, at_most=1_000_000)


# The room as a box ----------------------------------------------------------------------------------------------------


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
    room = _room(room_m3)
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
    room = _room(room_m3)
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
    return purge_air_changes(start, end, mixing) * _room(room_m3) / _air_flow(air_m3_h, at_least=0.001)


def dilution_air_m3_h(
    grams_per_hour: float, molar_mass_g_mol: float, limit_ppm: float, *, allowance: float = 1.0, celsius: float = 21.1
) -> float:
    """Fresh air in m3/h that keeps the average of steady evaporation at limit_ppm.

    `allowance` (1 to 10) multiplies it for imperfect mixing. The ACGIH form with 403 in it, in metric units (Univ. of
    Toledo's formula sheet).
    """
    emitted = number("grams_per_hour", grams_per_hour, at_least=0, at_most=1e9)
    limit = number("limit_ppm", limit_ppm, at_least=0.001, at_most=1e6)
    times = number("allowance", allowance, at_least=1, at_most=10)
    vapour_m3_h = emitted / _molar(molar_mass_g_mol) * molar_volume_l(celsius) / 1000
    return vapour_m3_h * 1e6 / limit * times


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
    emitted = number("grams_per_hour", grams_per_hour, at_least=0, at_most=1e9)
    times = number("allowance", allowance, at_least=1, at_most=100)
    factor = number("heat_factor", heat_factor, at_least=0.1, at_most=1)
    vapour_m3_h = emitted / _molar(molar_mass_g_mol) * molar_volume_l(celsius) / 1000
    return vapour_m3_h * 100 / _lel(lel_percent) * times / factor
