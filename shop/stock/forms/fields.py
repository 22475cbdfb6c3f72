"""Boxes for quantities and costs of an item, which the forms of stock share."""

from decimal import Decimal
from typing import Any

from django import forms

from shop.calc import units
from shop.people.fields import QuantityField, round_inches, unit_for
from shop.people.models import LengthUnit, Units
from shop.press.fields import NumberField
from shop.stock.amounts import MOST, PRICED_BY, kept_price, kind_of, price_figure, priced_by, shown_price
from shop.stock.models import Item


class WholeQuantityField(QuantityField):
    """A quantity typed in the person's unit that is kept in whole stored units: rounds to the nearest."""

    def to_python(self, value: Any) -> int | None:
        number = super().to_python(value)
        return None if number is None else round(number)

    def prepare_value(self, value: Any) -> Any:
        return _inches(self, value) or super().prepare_value(value)


def _inches(field: QuantityField, value: Any) -> str:
    """A length kept in whole millimetres as it is typed in inches; "" for anything else."""
    is_length = isinstance(value, int) and field.kind == "length" and field.unit == LengthUnit.INCH
    return f"{round_inches(value):.10g}" if is_length else ""


def amount_field(item: Item, *, label: str, low: int = 1, **rest: Any) -> NumberField:
    """A box for a quantity of the item: counted, or in the person's unit."""
    kind = kind_of(item)
    if kind is None:
        return NumberField(label=label, low=low, high=MOST, whole=True, **rest)
    # Below half a stored unit is nothing; the action says so of what rounds to it.
    return WholeQuantityField(kind, label=label, low=0, high=MOST, **rest)


def note_field(label: str = "Note") -> forms.CharField:
    return forms.CharField(label=label, max_length=300, required=False)


class CostField(NumberField):
    """An amount of money, to a hundredth of a cent."""

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        number = super().to_python(value)
        return None if number is None else Decimal(str(number)).quantize(Decimal("0.0001"))


class PriceField(CostField):
    """What one of an item costs, typed of one of the person's unit (a litre, a gallon, a foot); cleans to the price of
    one of the item's unit."""

    def __init__(self, item: Item, person: Units, **rest: Any) -> None:
        self.item, self.person = item, person
        super().__init__(label=price_label(item, person), low=0, high=999_999, required=False, **rest)

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        price = super().to_python(value)
        return None if price is None else kept_price(price, self.item, self.person)

    def prepare_value(self, value: Any) -> Any:
        return super().prepare_value(
            shown_price(value, self.item, self.person) if isinstance(value, Decimal) else value
        )

    def said(self, kept: float | Decimal) -> str:
        return price_figure(shown_price(Decimal(kept), self.item, self.person))


def price_label(item: Item, person: Units) -> str:
    unit = priced_by(item, person)[0]
    return f"Price of one {unit}" if unit else "Price each"


def any_price_label(person: Units) -> str:
    """Of a price of something that is not chosen yet."""
    named = [PRICED_BY[kind, unit_for(kind, person)][0] for kind in ("liquid", "mass", "length")]
    return f"Price each, or of one {', '.join(named)}"


class ExactQuantityField(QuantityField):
    """A quantity typed in the person's unit, shown with as many digits as it takes to read it back as it was.

    whole: kept in whole stored units, rounded to the nearest.
    """

    def __init__(self, kind: str, *, whole: bool, **rest: Any) -> None:
        self.rounds = whole
        super().__init__(kind, **rest)

    def to_python(self, value: Any) -> float | int | None:
        number = super().to_python(value)
        return round(number) if self.rounds and number is not None else number

    def prepare_value(self, value: Any) -> Any:
        if self.rounds and (inches := _inches(self, value)):
            return inches
        if isinstance(value, (int, float)):
            return f"{units.from_stored(self.kind, value, self.unit):.6g}"
        return value


def exact_field(item: Item, *, whole: bool = True, low: float = 0, **rest: Any) -> NumberField:
    """A box for a quantity of the item that is a figure of the shop's: counted, or in the person's unit."""
    kind = kind_of(item)
    if kind is None:
        return NumberField(low=low, high=MOST, whole=whole, **rest)
    return ExactQuantityField(kind, whole=whole, low=0, high=MOST, **rest)
