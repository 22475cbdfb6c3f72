"""Form fields that speak the signed-in person's units."""

from collections.abc import Iterable
from typing import Any

from django import forms

from shop.calc import units
from shop.concern import Quantity, told
from shop.people.models import LengthUnit, LiquidUnit, Units
from shop.press.fields import NumberField
from shop.wording import grouped

#: Which of a person's preferences holds the unit for a kind of quantity; other kinds have one unit only.
PREFERENCE = {
    "pressure": "pressure_unit",
    "temperature": "temperature_unit",
    "temperature_change": "temperature_unit",
    "liquid": "liquid_unit",
    "length": "length_unit",
}
#: What is read in another unit by whoever reads lengths in inches, for kinds that have no preference of their own.
BY_INCHES = {
    "volume": "ft3",
    "air_flow": "cfm",
    "gas_flow": "ft3/h",
    "groove_length": "ft",
    "groove_speed": "in/s",
}


#: Into how many parts an inch is divided as people write it, roundest first.
_INCH_PARTS = (1, 2, 4, 10, 8, 16, 100)


def unit_for(kind: str, person: Units) -> str:
    """The unit this person reads a kind of quantity in (a key of units.UNITS[kind])."""
    if kind in BY_INCHES and person.length_unit == LengthUnit.INCH:
        return BY_INCHES[kind]
    return getattr(person, PREFERENCE[kind]) if kind in PREFERENCE else units.default_unit(kind)


def whole_words(kind: str, value: int, reader: Units) -> str:
    """An amount that is kept in whole stored units, as `reader` reads it: "2.505 l", "40 ml", "1200 mm".

    Litres are written to the millilitre, so that a ledger in them adds up to the eye.
    """
    unit = unit_for(kind, reader)
    if unit == "l":
        if abs(value) < 1000:
            return units.show(kind, value, "ml")
        return f"{value / 1000:.3f}".rstrip("0").rstrip(".") + f"\u00a0{units.label(kind, unit)}"
    if unit == units.default_unit(kind):
        return f"{grouped(value)}\u00a0{units.label(kind, unit)}"  # kept in whole ones: no decimals to show
    if unit == LengthUnit.INCH:
        inches = f"{round_inches(value):,.10g}".replace(",", "\u202f" if abs(value) >= 254_000 else "")
        return f"{inches}\u00a0{units.label(kind, unit)}".replace("-", "\u2212")
    if value and not float(units.show_number(kind, value, unit)):  # too little for a figure in it: a millilitre
        unit = units.default_unit(kind)
    return units.show(kind, value, unit)


def round_inches(mm: int) -> float:
    """Inches of a length that is kept in whole millimetres, as the roundest figure that is kept as that one.

    What was typed as 36 in is kept as 914 mm and comes back as 36 in, not as 35.984; typed again it is the same.
    """
    inches = mm / units.MM_PER_INCH
    rounded = (round(inches * parts) / parts for parts in _INCH_PARTS)
    return next((each for each in rounded if round(each * units.MM_PER_INCH) == mm), round(inches, 2))


def measured(kind: str, value: float, reader: Units) -> Quantity:
    """A quantity as it is written for `reader`, to go with a concern that has it in its text. A whole number is an
    amount kept in whole units (`whole_words`)."""
    if isinstance(value, int):
        return Quantity(whole_words(kind, value, reader), kind, value)
    return Quantity(units.show(kind, value, unit_for(kind, reader)), kind, value)


def retold(text: str, quantities: Iterable[Quantity], reader: Units) -> str:
    """`text` of a concern or an alert with its quantities in the units of `reader`."""
    return told(text, quantities, lambda kind, value: measured(kind, value, reader).text)


def stamped_words(litres: float, reader: Units) -> str:
    """A size that is stamped in litres, with the reader's own unit beside it: "44 l", "44 l (11.6 US gal)"."""
    own = unit_for("liquid", reader)
    written = f"{litres:.1f}".removesuffix(".0") + "\u00a0l"
    if own == LiquidUnit.LITRE:
        return written
    number = units.from_stored("liquid", 1000 * litres, own)
    return f"{written} ({number:.{1 if number >= 1 else 2}f}\u00a0{units.label('liquid', own)})"


class LitresField(NumberField):
    """A size that is stamped in litres and so is asked for in litres by everybody; any other unit of liquids may be
    typed after it. Cleans to litres. low, high: in litres."""

    def __init__(self, **rest: Any) -> None:
        super().__init__(unit="l", **rest)
        self.reader: Units | None = None

    def speak_to(self, person: Units) -> None:
        self.reader = person

    def decimals(self, typed_unit: str) -> int:
        return super().decimals("")

    def in_stored_unit(self, number: float, typed_unit: str) -> float:
        try:
            return units.to_stored("liquid", number, typed_unit or "l") / 1000
        except ValueError as wrong:
            raise forms.ValidationError(str(wrong)) from wrong

    def shown(self, number: float) -> str:
        return super().shown(number) if self.reader is None else stamped_words(number, self.reader)


class QuantityField(NumberField):
    """A quantity typed in the person's unit, or with a unit typed after it; cleans to the stored unit.

    kind: a kind of shop.calc.units. low, high: bounds in the stored unit.
    """

    def __init__(self, kind: str, **rest: Any) -> None:
        self.kind = kind
        super().__init__(**rest)
        self.unit = units.default_unit(kind)

    def speak_to(self, person: Units) -> None:
        self.unit = unit_for(self.kind, person)

    @property
    def unit_label(self) -> str:
        return units.label(self.kind, self.unit)

    def decimals(self, typed_unit: str) -> int:
        try:
            return units.unit_of(self.kind, typed_unit or self.unit).decimals
        except ValueError:  # no unit of this: in_stored_unit says so
            return super().decimals(typed_unit)

    def in_stored_unit(self, number: float, typed_unit: str) -> float:
        try:
            return units.to_stored(self.kind, number, typed_unit or self.unit)
        except ValueError as wrong:
            raise forms.ValidationError(str(wrong)) from wrong

    def shown(self, number: float) -> str:
        if units.from_stored(self.kind, number, self.unit) == 0:
            return f"0\u00a0{self.unit_label}"  # "0.000 US gal" is no bound that anybody would say
        return units.show(self.kind, number, self.unit)

    def prepare_value(self, value: Any) -> Any:
        """A stored value (an initial one) in the person's unit; typed text as it was typed."""
        if isinstance(value, (int, float)):
            return units.show_number(self.kind, value, self.unit)
        return value
