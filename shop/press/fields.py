"""Form fields that read numbers the way people type them beside a lathe."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms

from shop.calc import units


class NumberField(forms.Field):
    """A number typed as text: spaces, a typed unit and either decimal mark are accepted, "1,234" is asked about.

    low, high: bounds, inclusive. whole: only whole numbers. Cleans to int if whole, else float.
    """

    widget = forms.TextInput

    def __init__(
        self, *, low: float | None = None, high: float | None = None, whole: bool = False, unit: str = "", **rest: Any
    ) -> None:
        self.low, self.high, self.whole, self.unit = low, high, whole, unit
        super().__init__(**rest)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        if self.low is None or self.low < 0:
            return {"autocomplete": "off"}  # some phones' number pads have no minus
        return {"inputmode": "numeric" if self.whole else "decimal", "autocomplete": "off"}

    def to_python(self, value: Any) -> float | int | None:
        if value in self.empty_values:
            return None
        if isinstance(value, (int, float, Decimal)):
            number, unit = float(value), ""
        else:
            try:
                number, unit = units.parse_number(str(value), self.decimals)
            except ValueError as wrong:
                raise forms.ValidationError(str(wrong)) from wrong
        number = self.in_stored_unit(number, unit)
        if self.whole and number != int(number):
            raise forms.ValidationError("Give a whole number.")
        self.check_bounds(number)
        return int(number) if self.whole else number

    def decimals(self, typed_unit: str) -> int:
        """How many decimals mean something in that unit, or in the field's own for ""."""
        return 0 if self.whole else 3

    def in_stored_unit(self, number: float, typed_unit: str) -> float:
        """The number in the unit it is kept in; here the field's own, so another typed unit is refused."""
        if typed_unit and typed_unit.casefold() != self.unit.casefold():
            raise forms.ValidationError(f"Give it in {self.unit}." if self.unit else "Give a plain number, no unit.")
        return number

    def shown(self, number: float) -> str:
        """A bound as the person sees it."""
        grouped = f"{number:,.10g}".replace(",", "\u202f" if abs(number) >= 10_000 else "")
        return f"{grouped} {self.unit}".strip()

    def said(self, kept: float | Decimal) -> str:
        """A kept value in words. For a field whose bounds are not in what it cleans to: override."""
        return self.shown(float(kept))

    def prepare_value(self, value: Any) -> Any:
        """A kept value (an initial one) without zeros that say nothing; typed text as it was typed."""
        if isinstance(value, Decimal):
            return f"{value.normalize():f}"
        return f"{value:.10g}" if isinstance(value, float) else value

    def check_bounds(self, number: float) -> None:
        if self.low is not None and number < self.low:
            raise forms.ValidationError(f"That is below {self.shown(self.low)}.")
        if self.high is not None and number > self.high:
            raise forms.ValidationError(f"That is above {self.shown(self.high)}.")


class DayField(forms.DateField):
    """A day, with the device's own picker."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def __init__(self, **rest: Any) -> None:
        super().__init__(input_formats=["%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%d %B %Y"], **rest)
        self.error_messages["invalid"] = "That is not a day. Write it as 2025-03-31."


class MomentField(forms.DateTimeField):
    """A moment on the room's clock; empty for now. One that the clocks skipped or repeated is refused."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")

    def __init__(self, **rest: Any) -> None:
        usual: dict[str, Any] = {
            "label": "When, if not just now",
            "required": False,
            "input_formats": ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
        }
        super().__init__(**usual | rest)
        self.error_messages["invalid"] = "That is not a time. Write it as 2025-03-31 14:05."

    def to_python(self, value: Any) -> datetime | None:
        try:
            return super().to_python(value)
        except OverflowError as far:
            raise forms.ValidationError(self.error_messages["invalid"]) from far
