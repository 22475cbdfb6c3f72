"""What is in a nitrogen cylinder, by a real-gas equation of state.

Pressures named `gauge_bar` are above the air's, which is taken as 1.01325 bar. CoolProp takes a second or two to load
and does so on the first call; `load()` does it beforehand.
"""

import math
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from threading import Lock
from typing import Any

from shop.calc.bounds import chance, number

#: One standard atmosphere in bar.
ATM_BAR = 1.01325

_KELVIN = 273.15
#: The range in which a cylinder is met and the equation of state is at its best.
_COLDEST_C, _HOTTEST_C = -50.0, 65.0
_MOST_GAUGE_BAR = 400.0
_MOST_WATER_L = 5000.0
_MOST_KG_M3 = 500.0

_lock = Lock()


@cache
def _nitrogen() -> Any:
    """CoolProp's nitrogen (Span and others, J. Phys. Chem. Ref. Data 29, 1361, 2000). Not safe for two threads."""
    from CoolProp.CoolProp import AbstractState

    return AbstractState("HEOS", "Nitrogen")


def load() -> None:
    """Load the equation of state now, so that the first answer does not have to wait for it."""
    _density(ATM_BAR, 20.0)


def _density(bar: float, celsius: float) -> float:
    """kg/m3 at an absolute pressure."""
    with _lock:
        from CoolProp.CoolProp import PT_INPUTS

        state = _nitrogen()
        state.update(PT_INPUTS, bar * 1e5, celsius + _KELVIN)
        return float(state.rhomass())


def _pressure(density: float, celsius: float) -> float:
    """Absolute bar at a density in kg/m3."""
    with _lock:
        from CoolProp.CoolProp import DmassT_INPUTS

        state = _nitrogen()
        state.update(DmassT_INPUTS, density, celsius + _KELVIN)
        return float(state.p()) / 1e5


def _celsius(value: object, name: str = "celsius") -> float:
    return number(name, value, at_least=_COLDEST_C, at_most=_HOTTEST_C)


def _gauge(value: object, name: str = "gauge_bar") -> float:
    return number(name, value, at_least=0, at_most=_MOST_GAUGE_BAR)


def _water(value: object) -> float:
    return number("water_volume_l", value, above=0, at_most=_MOST_WATER_L)


def nitrogen_density_kg_m3(bar: float, celsius: float) -> float:
    """Density of nitrogen in kg/m3 at an absolute pressure of 0.01 to 401 bar and -50 to 65 C."""
    return _density(number("bar", bar, at_least=0.01, at_most=_MOST_GAUGE_BAR + ATM_BAR), _celsius(celsius))


def nitrogen_mass_kg(water_volume_l: float, gauge_bar: float, celsius: float) -> float:
    """Nitrogen in a cylinder in kg, from its water volume (stamped on it), gauge pressure and temperature.

    At 0 gauge there is still a little in it. Real gas: the ideal law says 5 % too much at 200 bar.
    ValueError unless 0 < water_volume_l <= 5000, 0 <= gauge_bar <= 400, -50 <= celsius <= 65.
    """
    litres, gauge, celsius = _water(water_volume_l), _gauge(gauge_bar), _celsius(celsius)
    return litres / 1000 * _density(gauge + ATM_BAR, celsius)


def standard_volume_m3(mass_kg: float, celsius: float = 15.0, bar: float = 1.0) -> float:
    """Room that so much nitrogen takes at a reference state in m3; by default 15 C and 1 bar, absolute.

    "Normal" (0 C, 1 atm) and "standard" volumes differ by up to 9 %: always say which.
    """
    mass = number("mass_kg", mass_kg, at_least=0, at_most=100_000)
    return mass / nitrogen_density_kg_m3(bar, celsius)


def gauge_bar_at(mass_kg: float, water_volume_l: float, celsius: float) -> float:
    """Gauge pressure in bar of so much nitrogen in a cylinder at a temperature.

    Below 0 if there is less in it than fills it at the air's pressure. Near 200 bar it moves about 1 bar per degree C,
    1.4 times what the ideal law says.
    """
    litres, celsius = _water(water_volume_l), _celsius(celsius)
    mass = number("mass_kg", mass_kg, above=0, at_most=_MOST_KG_M3 * litres / 1000)
    return _pressure(mass / litres * 1000, celsius) - ATM_BAR


def contents_fraction(
    gauge_bar: float, full_gauge_bar: float, celsius: float, full_celsius: float | None = None
) -> float:
    """Share of a full cylinder's nitrogen that is left, 0 to 1 (above 1 if overfilled).

    full_gauge_bar is the fill pressure at full_celsius (the same as celsius if not given). Half the gauge is not half
    the gas: 52 % near 180 bar.
    """
    gauge, celsius = _gauge(gauge_bar), _celsius(celsius)
    full = number("full_gauge_bar", full_gauge_bar, above=0, at_most=_MOST_GAUGE_BAR)
    filled_at = celsius if full_celsius is None else _celsius(full_celsius, "full_celsius")
    return _density(gauge + ATM_BAR, celsius) / _density(full + ATM_BAR, filled_at)


def hours_of_gas(
    water_volume_l: float,
    gauge_bar: float,
    celsius: float,
    litres_per_minute: float,
    *,
    leave_gauge_bar: float = 0.0,
    flow_celsius: float = 20.0,
    flow_bar: float = ATM_BAR,
) -> float:
    """Hours that a steady draw can last down to leave_gauge_bar; the flow is counted at flow_celsius and flow_bar.

    0 if the cylinder is already at or below that pressure.
    """
    litres, gauge, celsius = _water(water_volume_l), _gauge(gauge_bar), _celsius(celsius)
    left = _gauge(leave_gauge_bar, "leave_gauge_bar")
    flow = number("litres_per_minute", litres_per_minute, at_least=1e-6, at_most=10_000)
    kg_per_hour = flow * 60 / 1000 * nitrogen_density_kg_m3(flow_bar, flow_celsius)
    usable = litres / 1000 * (_density(gauge + ATM_BAR, celsius) - _density(left + ATM_BAR, celsius))
    return max(0.0, usable / kg_per_hour)


@dataclass(frozen=True)
class Leak:
    """Loss of nitrogen between two readings; low and high make an interval at `level`, all above 0 if `sure`."""

    kg: float
    kg_per_hour: float
    low_kg_per_hour: float
    high_kg_per_hour: float
    litres_per_hour: float
    level: float
    sure: bool


def leak_rate(
    water_volume_l: float,
    first_gauge_bar: float,
    first_celsius: float,
    second_gauge_bar: float,
    second_celsius: float,
    hours: float,
    *,
    gauge_sd_bar: float = 1.0,
    celsius_sd: float = 1.0,
    level: float = 0.95,
) -> Leak:
    """Nitrogen lost between two readings with nothing drawn, corrected for temperature.

    The interval takes both readings as uncertain by gauge_sd_bar and celsius_sd (standard deviations, normal,
    independent; carried through by first derivatives). litres_per_hour is at 20 C, 1 atm. A negative loss means that
    the readings disagree, or that gas was added.
    """
    litres = _water(water_volume_l)
    hours = number("hours", hours, at_least=0.01, at_most=100_000)
    level = chance("level", level)
    sd_bar = number("gauge_sd_bar", gauge_sd_bar, at_least=0, at_most=50)
    sd_c = number("celsius_sd", celsius_sd, at_least=0, at_most=20)
    masses, variance = [], 0.0
    for which, gauge_given, celsius_given in (
        ("first", first_gauge_bar, first_celsius),
        ("second", second_gauge_bar, second_celsius),
    ):
        bar = _gauge(gauge_given, f"{which}_gauge_bar") + ATM_BAR
        celsius = _celsius(celsius_given, f"{which}_celsius")
        volume = litres / 1000
        masses.append(volume * _density(bar, celsius))
        by_bar = volume * (_density(bar + 0.05, celsius) - _density(bar - 0.05, celsius)) / 0.1
        by_c = volume * (_density(bar, celsius + 0.05) - _density(bar, celsius - 0.05)) / 0.1
        variance += (by_bar * sd_bar) ** 2 + (by_c * sd_c) ** 2
    lost = masses[0] - masses[1]
    half = NormalDist().inv_cdf((1 + level) / 2) * math.sqrt(variance)
    return Leak(
        kg=lost,
        kg_per_hour=lost / hours,
        low_kg_per_hour=(lost - half) / hours,
        high_kg_per_hour=(lost + half) / hours,
        litres_per_hour=lost / hours / _density(ATM_BAR, 20.0) * 1000,
        level=level,
        sure=lost - half > 0,
    )
