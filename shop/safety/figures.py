"""Physical data as they are written and typed: the unit of each kind and its bounds."""

from dataclasses import dataclass

from shop.calc import units
from shop.people.fields import QuantityField, unit_for
from shop.people.models import Units
from shop.press.fields import NumberField
from shop.safety.models import Property, PropertyKind


@dataclass(frozen=True)
class Figure:
    """A kind of figure. name: without its unit; quantity: the kind of shop.calc.units it is told in, "" for none.

    unit: what stands after it otherwise; low, high: what it can be, in the unit it is kept in.
    """

    name: str
    quantity: str
    unit: str
    low: float
    high: float


_TEMPERATURE = ("temperature", "", -273.15, 4000.0)
_FIGURES: dict[str, tuple[str, str, float, float]] = {
    PropertyKind.MOLAR_MASS: ("", "g/mol", 1.0, 10_000_000.0),
    PropertyKind.LEL: ("", "% by volume", 0.0, 100.0),
    PropertyKind.UEL: ("", "% by volume", 0.0, 100.0),
    PropertyKind.VAPOUR_PRESSURE: ("", "Pa", 0.0, 100_000_000.0),
    PropertyKind.DENSITY: ("", "kg/m³", 0.001, 30_000.0),
    PropertyKind.VAPOUR_DENSITY: ("", "", 0.01, 1000.0),
    PropertyKind.VISCOSITY: ("", "mm²/s", 0.001, 10_000_000.0),
}


def figure_of(kind: str) -> Figure:
    """How a kind of PropertyKind is written. ValueError for another."""
    quantity, unit, low, high = _FIGURES.get(PropertyKind(kind), _TEMPERATURE)
    name = PropertyKind(kind).label.rpartition(",")[0] if quantity or unit else PropertyKind(kind).label
    return Figure(name, quantity, unit, low, high)


def figure_words(told: Property, reader: Units) -> str:
    """A published figure as `reader` reads it: "465.0 °C", "150 to 190 °C", "24.7 kPa"."""
    figure = figure_of(told.kind)
    if figure.quantity:
        ends = [_shown(figure.quantity, end, reader) for end in (told.value, told.high) if end is not None]
        low, unit = ends[0]
        return f"{low} to {ends[1][0]}\u00a0{unit}" if len(ends) > 1 else f"{low}\u00a0{unit}"
    scale, unit = (1000.0, "kPa") if told.kind == PropertyKind.VAPOUR_PRESSURE else (1.0, figure.unit)
    shown = [_plain(end / scale) for end in (told.value, told.high) if end is not None]
    return " to ".join(shown) + ("\u00a0" + unit.replace(" ", "\u00a0", 1) if unit else "")


def _shown(quantity: str, value: float, reader: Units) -> tuple[str, str]:
    """Number and unit apart, so that a range has its unit once; whole where it was published whole."""
    number, _, unit = units.show(quantity, value, unit_for(quantity, reader)).rpartition("\u00a0")
    return number.removesuffix(".0"), unit


def _plain(value: float) -> str:
    """Four figures at most, and no zeros after the mark: what was published has no more."""
    return f"{value:.4g}" if abs(value) < 10_000 else f"{value:,.0f}".replace(",", "\u202f")


def box_of(kind: str, person: Units) -> NumberField:
    """The field that reads such a figure as this person types it, in their unit or with one typed after it."""
    figure = figure_of(kind)
    if not figure.quantity:
        unit = figure.unit.partition(" ")[0]
        return NumberField(low=figure.low, high=figure.high, unit=unit, required=False)
    box = QuantityField(figure.quantity, low=figure.low, high=figure.high, required=False)
    box.speak_to(person)
    return box


def typed_back(kind: str, value: float | None, person: Units) -> str:
    """A kept figure as this person would type it, its unit after it where that is their own choice."""
    if value is None:
        return ""
    quantity = figure_of(kind).quantity
    if not quantity:
        return f"{value:.10g}"
    unit = unit_for(quantity, person)
    return f"{round(units.from_stored(quantity, value, unit), 2):.10g} {units.label(quantity, unit)}"
