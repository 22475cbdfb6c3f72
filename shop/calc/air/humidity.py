"""Humidity of the room's air."""

import math

from shop.calc.bounds import number

_KELVIN = 273.15

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
