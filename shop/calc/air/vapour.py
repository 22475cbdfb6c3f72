"""Solvent vapour: how much there can be, in which measure, and against the lower explosive limit.

Limits in rules are printed both in ppm and in mg/m3 and are rounded apart; never make one from the other.
"""

from dataclasses import dataclass

from shop.calc.bounds import number

_KELVIN = 273.15
ATM_PA = 101_325.0
_BAR_PA = 100_000.0
#: Molar gas constant, J/(mol K), exact since 2019.
_R = 8.314462618


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
    """Reference figures of a solvent, and where each is from. The supplier's own safety data decide."""

    name: str
    cas: str
    molar_mass_g_mol: float
    density_g_ml: float
    lel_percent: float
    antoine: tuple[Antoine, ...]
    source: str


_FIGURES_FROM = (
    "molar mass from the formula; lower explosive limit: NFPA 497 (2008) and IEC 60079-20-1 (2010); "
    "density at 20\u00a0°C: {}"
)

#: Molar mass: computed from the formula (chemicals library). Lower explosive limit: NFPA 497 and IEC 60079-20-1, which
#: agree on both, read through the same library. Density near 20 C: acetone's by CoolProp; propan-2-ol's by Perry's
#: Handbook, table 2-32, through the chemicals library.
SOLVENTS: dict[str, Solvent] = {
    "acetone": Solvent(
        "acetone",
        "67-64-1",
        58.079,
        0.790,
        2.5,
        (
            Antoine(4.42448, 1312.253, -32.445, 259.16, 507.60, "NIST WebBook"),
            Antoine(4.2184, 1197.01, -45.09, 247.4, 350.7, "Poling and others, Properties of Gases and Liquids"),
        ),
        _FIGURES_FROM.format("the equation of state in CoolProp"),
    ),
    "propan-2-ol": Solvent(
        "propan-2-ol",
        "67-63-0",
        60.095,
        0.787,
        2.0,
        (
            Antoine(5.24268, 1580.92, -53.54, 281.3, 373.5, "Poling and others, Properties of Gases and Liquids"),
            Antoine(4.8610, 1357.427, -75.814, 329.92, 362.41, "NIST WebBook, from memory"),
            Antoine(4.57795, 1221.423, -87.474, 395.1, 508.24, "NIST WebBook, upper range"),
        ),
        _FIGURES_FROM.format("Perry's Chemical Engineers' Handbook, 8th ed., table 2-32"),
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
    return min(100.0, 100 * vapour_pressure_pa(substance, celsius) / ATM_PA)


def room_volume(value: object) -> float:
    """`value` as the free volume of a room in m3, else ValueError naming room_m3."""
    return number("room_m3", value, at_least=0.001, at_most=1_000_000)


def lel_percent_of(value: object) -> float:
    """`value` as a lower explosive limit in percent by volume, else ValueError naming lel_percent."""
    return number("lel_percent", value, at_least=0.01, at_most=100)


def _molar(value: object) -> float:
    return number("molar_mass_g_mol", value, at_least=1, at_most=1000)  # hydrogen's atom weighs 1.008


def molar_volume_l(celsius: float = 25.0, pressure_pa: float = ATM_PA) -> float:
    """Litres that one mole of an ideal gas takes; 24.465 at 25 C and 1 atm."""
    celsius = number("celsius", celsius, at_least=-100, at_most=200)
    pressure = number("pressure_pa", pressure_pa, at_least=10_000, at_most=1_000_000)
    return 1000 * _R * (celsius + _KELVIN) / pressure


def ppm_from_mg_m3(mg_m3: float, molar_mass_g_mol: float, celsius: float = 25.0, pressure_pa: float = ATM_PA) -> float:
    """Parts per million by volume of so many mg/m3, at 25 C and 1 atm unless said otherwise."""
    amount = number("mg_m3", mg_m3, at_least=0, at_most=1e9)
    return amount * molar_volume_l(celsius, pressure_pa) / _molar(molar_mass_g_mol)


def mg_m3_from_ppm(ppm: float, molar_mass_g_mol: float, celsius: float = 25.0, pressure_pa: float = ATM_PA) -> float:
    """mg/m3 of so many parts per million by volume (at most a million), at 25 C and 1 atm unless said otherwise."""
    share = number("ppm", ppm, at_least=0, at_most=1e6)
    return share * _molar(molar_mass_g_mol) / molar_volume_l(celsius, pressure_pa)


def grams_to_fraction_of_lel(
    grams: float, room_m3: float, molar_mass_g_mol: float, lel_percent: float, celsius: float = 20.0
) -> float:
    """So many grams, all evaporated and evenly mixed, as a fraction of the lower explosive limit (1 = at the limit).

    room_m3 is free volume; 1 atm, ideal gas.
    """
    return vapour_m3(grams, molar_mass_g_mol, celsius) / (room_volume(room_m3) * lel_percent_of(lel_percent) / 100)


def grams_at_fraction_of_lel(
    fraction: float, room_m3: float, molar_mass_g_mol: float, lel_percent: float, celsius: float = 20.0
) -> float:
    """Grams that, all evaporated and evenly mixed, make up a fraction of the lower explosive limit; the inverse."""
    share = number("fraction", fraction, at_least=0, at_most=100)
    moles = share * room_volume(room_m3) * lel_percent_of(lel_percent) / 100 * 1000 / molar_volume_l(celsius)
    return moles * _molar(molar_mass_g_mol)


def vapour_m3(grams: float, molar_mass_g_mol: float, celsius: float = 20.0) -> float:
    """Room in m3 that so many grams take as vapour, at 1 atm, as an ideal gas."""
    mass = number("grams", grams, at_least=0, at_most=1e9)
    return mass / _molar(molar_mass_g_mol) * molar_volume_l(celsius) / 1000
