"""The shop's units, to and from the ones things are stored in. Conversions by pint.

Each kind of quantity is stored in one unit (`STORED`) and may be typed and shown in any of `UNITS[kind]`. Kinds:
pressure (gauge; bar), temperature (degC), temperature_change (delta_degC: 10 °F of change is 5.6 °C), liquid (ml),
length (mm), groove_length (m), groove_speed (mm/s), volume (of rooms; m3), air_flow (m3/h), gas_flow (l/min), groove
(um), pitch (um; lines per inch are its reciprocal), suction (kPa below the room's), current (mA), humidity (percent),
mass (g).

pint's registry takes a quarter of a second to build, once, when the first conversion between two units is asked for.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from shop.calc.bounds import number as checked


@dataclass(frozen=True)
class Unit:
    """How one unit is called by pint (`pint`), written (`label`), rounded (`decimals`), and typed (`spellings`).

    is_rare: taken where it is typed, but never what a number without a unit may have meant.
    """

    pint: str
    label: str
    decimals: int
    spellings: tuple[str, ...] = ()
    is_rare: bool = False


UNITS: dict[str, dict[str, Unit]] = {
    "pressure": {
        "bar": Unit("bar", "bar", 0, ("bar", "barg")),
        "psi": Unit("psi", "psi", 0, ("psi", "psig", "lb/in2")),
    },
    "temperature": {
        "degC": Unit("degC", "°C", 1, ("c", "°c", "degc")),
        "degF": Unit("degF", "°F", 1, ("f", "°f", "degf")),
    },
    "temperature_change": {
        "degC": Unit("delta_degC", "°C", 1, ("c", "°c")),
        "degF": Unit("delta_degF", "°F", 1, ("f", "°f")),
    },
    "liquid": {
        "l": Unit("liter", "l", 2, ("l", "litre", "litres", "liter", "liters")),
        "gal": Unit("gallon", "US gal", 3, ("gal", "us gal", "gallon", "gallons")),
        "ml": Unit("milliliter", "ml", 0, ("ml",)),
        "floz": Unit("fluid_ounce", "US fl oz", 2, ("fl oz", "us fl oz", "floz")),
    },
    "length": {
        "mm": Unit("millimeter", "mm", 1, ("mm",)),
        "in": Unit("inch", "in", 3, ("in", "inch", "inches", '"')),
        "cm": Unit("centimeter", "cm", 2, ("cm",), is_rare=True),
        "m": Unit("meter", "m", 3, ("m", "metre", "metres", "meter", "meters"), is_rare=True),
        "ft": Unit("foot", "ft", 3, ("ft", "foot", "feet"), is_rare=True),
    },
    "groove_length": {
        "m": Unit("meter", "m", 0, ("m",)),
        "km": Unit("kilometer", "km", 2, ("km",)),
        "ft": Unit("foot", "ft", 0, ("ft",)),
        "mi": Unit("mile", "mi", 2, ("mi",)),
    },
    "groove_speed": {
        "mm/s": Unit("millimeter/second", "mm/s", 0, ("mm/s",)),
        "in/s": Unit("inch/second", "in/s", 1, ("in/s",)),
    },
    "volume": {
        "m3": Unit("meter**3", "m³", 1, ("m3", "m³", "cbm")),
        "ft3": Unit("foot**3", "ft³", 0, ("ft3", "ft³", "cu ft")),
    },
    "air_flow": {
        "m3/h": Unit("meter**3/hour", "m³/h", 1, ("m3/h", "m³/h")),
        "cfm": Unit("foot**3/minute", "ft³/min", 1, ("cfm", "ft3/min", "ft³/min")),
    },
    "gas_flow": {
        "l/min": Unit("liter/minute", "l/min", 1, ("l/min",)),
        "ft3/h": Unit("foot**3/hour", "ft³/h", 1, ("ft3/h", "ft³/h", "cfh", "scfh")),
        "m3/h": Unit("meter**3/hour", "m³/h", 2, ("m3/h", "m³/h")),
    },
    "groove": {
        "um": Unit("micrometer", "µm", 1, ("um", "µm", "μm", "micron", "microns")),
        "mil": Unit("thou", "mil", 2, ("mil", "mils", "thou")),
    },
    "pitch": {
        "um": Unit("micrometer", "µm", 0, ("um", "µm", "μm", "micron", "microns")),
        "lpi": Unit("1/inch", "lines/in", 0, ("lpi", "lines/inch", "lines per inch", "lines", "/in")),
    },
    "suction": {
        "kPa": Unit("kilopascal", "kPa", 1, ("kpa",)),
        "mbar": Unit("millibar", "mbar", 0, ("mbar",)),
        "inHg": Unit("inch_Hg", "inHg", 1, ("inhg", "in hg")),
        "inH2O": Unit("inch_H2O", "inH₂O", 1, ("inh2o", "in h2o", "in wc", "inwc")),
        "bar": Unit("bar", "bar", 3, ("bar",), is_rare=True),
        "psi": Unit("psi", "psi", 2, ("psi",), is_rare=True),
    },
    "current": {
        "mA": Unit("milliampere", "mA", 0, ("ma",)),
        "A": Unit("ampere", "A", 3, ("a", "amp", "amps")),
    },
    "humidity": {"percent": Unit("percent", "%", 0, ("%", "percent", "% rh", "%rh"))},
    "mass": {
        "g": Unit("gram", "g", 1, ("g", "gram", "grams")),
        "oz": Unit("ounce", "oz", 2, ("oz",)),
        "kg": Unit("kilogram", "kg", 2, ("kg",)),
        "lb": Unit("pound", "lb", 2, ("lb", "lbs")),
    },
}

#: The unit each kind is stored in.
STORED = {
    "pressure": "bar",
    "temperature": "degC",
    "temperature_change": "degC",
    "liquid": "ml",
    "length": "mm",
    "groove_length": "m",
    "groove_speed": "mm/s",
    "volume": "m3",
    "air_flow": "m3/h",
    "gas_flow": "l/min",
    "groove": "um",
    "pitch": "um",
    "suction": "kPa",
    "current": "mA",
    "humidity": "percent",
    "mass": "g",
}

MM_PER_INCH = 25.4

_SPACES = re.compile(r"[\s\u00a0\u2007\u2009\u202f]+")
_NUMBER = re.compile(
    r"(?P<sign>[-+\u2212]?) ?"
    r"(?P<digits>(?:[0-9]{1,3}(?: [0-9]{3})+|[0-9]+)(?:[.,][0-9]+)*[.,]?|[.,][0-9]+)"
    # a unit has letters and signs, and a 2 or 3 only where units have one (in2, inH2O, m3)
    r"(?: ?(?P<unit>(?:[a-zµμ°%\"/₂³]|(?<=[hntm])[23])(?:[a-zµμ°%\"/₂³. ]|(?<=[hntm])[23])*))?",
    re.IGNORECASE | re.ASCII,
)
#: Longer than any number that has a meaning here.
_LONGEST = 40
_LARGEST = 1e12
#: No quantity is colder than this in its own unit, whatever was meant.
_ABSOLUTE_ZERO_C = -273.15
#: Lines per inch under this are none at all.
_FEWEST_LINES = 1e-6


class Ambiguous(ValueError):
    """A number that can be read two ways; the person is asked, nothing is guessed."""


def parse_number(text: str, decimals: Callable[[str], int] | None = None) -> tuple[float, str]:
    """A number as people type it, and the unit typed after it ("" if none).

    Spaces (also thin and no-break ones) may part groups of three digits; comma and point are both decimal marks. One
    comma before exactly three digits and after one to three others ("1,234") can be read two ways and raises
    Ambiguous, save after a 0 ("0,125"); so does any number with two marks. ValueError for anything else, letters in
    the number and more than 1e12 among it: its sentence is fit to show.

    decimals: how many decimals mean something in a unit ("" for none typed). Where it is one at most ("1.460 psi"),
    a point before three digits is as ambiguous as the comma, for nobody means the thousandths.
    """
    tight = _SPACES.sub(" ", text).strip()
    if not tight:
        raise ValueError("Give a number.")
    if len(tight) > _LONGEST:
        raise ValueError("That is too long for a number.")
    found = _NUMBER.fullmatch(tight)
    if found is None:
        raise ValueError(f"“{tight}” is not a number. Give digits, such as 21.5.")
    digits = found["digits"].replace(" ", "")
    marks = [mark for mark in digits if mark in ",."]
    if len(marks) > 1:
        raise Ambiguous(f"“{digits}” has more than one mark. Write it with one decimal mark, such as 1234.5.")
    unit = (found["unit"] or "").strip()
    if marks:
        whole, mark, part = digits.partition(marks[0])
        coarse = decimals is not None and decimals(unit) <= 1
        if len(part) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0") and (mark == "," or coarse):
            small = f"{whole}.{part}" if mark == "," else f"{round(float(digits), 2):g}"
            raise Ambiguous(f"Is “{digits}” {whole}{part}, or {small}? Write it that way.")
    number = float(digits.replace(",", "."))
    if number > _LARGEST:
        raise ValueError("That number is too large to be meant.")
    if found["sign"] in ("-", "\u2212") and number != 0:
        number = -number
    return number, unit


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(cache_folder=None, autoconvert_offset_to_baseunit=True)


def default_unit(kind: str) -> str:
    """The key of the unit that `kind` is stored in."""
    return STORED[_known(kind)]


def label(kind: str, unit: str) -> str:
    """How a unit is written: "psi", "°F"."""
    return unit_of(kind, unit).label


def unit_of(kind: str, spelled: str) -> Unit:
    """The unit of `kind` with that key or spelling (any case). ValueError if it has none such."""
    return UNITS[_known(kind)][_key(kind, spelled)]


def _known(kind: str) -> str:
    if not isinstance(kind, str) or kind not in UNITS:
        raise ValueError(f"kind must be one of {', '.join(UNITS)}, not {str(kind)[:30]!r}.")
    return kind


def _key(kind: str, spelled: str) -> str:
    units = UNITS[_known(kind)]
    if not isinstance(spelled, str):
        raise ValueError(f"unit must be the name of a unit, not {str(spelled)[:30]!r}.")
    if spelled in units:
        return spelled
    folded = _SPACES.sub(" ", spelled).strip().casefold()
    for key, unit in units.items():
        if folded in (key.casefold(), unit.label.casefold(), *unit.spellings):
            return key
    names = ", ".join(unit.label for unit in units.values())
    raise ValueError(f"“{spelled}” is not a unit for this. Use {names}.")


@cache
def _scale(kind: str, key: str) -> tuple[float, float]:
    """Factor and offset with stored = factor * value + offset, read off pint once per unit."""
    stored = UNITS[kind][STORED[kind]].pint
    if UNITS[kind][key].pint == stored:
        return 1.0, 0.0
    registry = _registry()
    zero, thousand = (registry.Quantity(x, UNITS[kind][key].pint).to(stored).magnitude for x in (0.0, 1000.0))
    return (thousand - zero) / 1000, zero


def to_stored(kind: str, value: float, unit: str) -> float:
    """`value` in `unit` (a key or a spelling), in the unit `kind` is stored in.

    ValueError for an unknown unit, a value that is not finite here or there, a temperature below absolute zero, or
    lines per inch not above 0.
    """
    key = _key(kind, unit)
    value = checked("value", value)
    if (kind, key) == ("pitch", "lpi"):
        if value < _FEWEST_LINES:
            raise ValueError("Give a number of lines per inch above 0.")
        return pitch_um_from_lines(value)
    factor, offset = _scale(kind, key)
    stored = factor * value + offset
    if kind == "temperature" and stored < _ABSOLUTE_ZERO_C:
        coldest = (_ABSOLUTE_ZERO_C - offset) / factor
        raise ValueError(f"Nothing is colder than {coldest:.2f}\u00a0{label(kind, key)}.".replace("-", "\u2212"))
    return checked("value", stored)


def from_stored(kind: str, value: float, unit: str) -> float:
    """A stored `value` of `kind` in `unit`. ValueError as for to_stored."""
    key = _key(kind, unit)
    value = checked("value", value)
    if (kind, key) == ("pitch", "lpi"):
        return lines_from_pitch_um(value)
    factor, offset = _scale(kind, key)
    return checked("value", (value - offset) / factor)


def _rounded(number: float, decimals: int, *, grouped: bool = False) -> str:
    """Rounded text; what rounds to nothing has no minus."""
    text = f"{number:,.{decimals}f}" if grouped else f"{number:.{decimals}f}"
    return text.lstrip("-") if not text.strip("-0.,") else text


def show_number(kind: str, value: float, unit: str) -> str:
    """A stored value in `unit`, rounded as that unit is, without grouping: fit to be typed back."""
    return _rounded(from_stored(kind, value, unit), unit_of(kind, unit).decimals)


def show(kind: str, value: float, unit: str) -> str:
    """A stored value in `unit`, rounded, digits grouped by a narrow no-break space from 10 000 on, with the unit.

    From 100 on one decimal is the most that is told: 14.125 in, but 236.2 in.
    """
    number = from_stored(kind, value, unit)
    decimals = unit_of(kind, unit).decimals
    decimals = min(decimals, 1) if abs(number) >= 100 else decimals
    text = _rounded(number, decimals, grouped=abs(number) >= 10_000).replace(",", "\u202f")
    return f"{text}\u00a0{label(kind, unit)}".replace("-", "\u2212")


def pitch_um_from_lines(lines_per_inch: float) -> float:
    """Pitch in µm of a number of lines per inch (above 0)."""
    return MM_PER_INCH * 1000 / checked("lines_per_inch", lines_per_inch, at_least=_FEWEST_LINES)


def lines_from_pitch_um(pitch_um: float) -> float:
    """Lines per inch of a pitch in µm (above 0)."""
    return MM_PER_INCH * 1000 / checked("pitch_um", pitch_um, at_least=1e-6)
