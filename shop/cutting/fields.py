"""Form fields for what is typed beside a lathe: a length in minutes, a pitch in lines per inch."""

import math
import re
from typing import Any

from django import forms

from shop.calc import units
from shop.cutting.actions import WantedTitle
from shop.cutting.actions.lists import NO_RADIUS, TIP_RADIUS_UM
from shop.cutting.wording import minutes_words
from shop.people.fields import QuantityField
from shop.press.fields import NumberField

_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):([0-5]?\d)")
_TWO_DECIMALS = re.compile(r"(\d+)[.,]([0-5]\d)")


class MinutesField(forms.Field):
    """A length typed as "21:30", "21.5" or "21 min"; cleans to whole seconds. "21.30" is asked about, not guessed.

    low_s, high_s: bounds in seconds, inclusive.
    """

    widget = forms.TextInput
    unit = "min"

    def __init__(self, *, low_s: int = 1, high_s: int = 7200, **rest: Any) -> None:
        self.low_s, self.high_s = low_s, high_s
        super().__init__(**rest)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"inputmode": "decimal", "autocomplete": "off", "placeholder": "21:30 or 21.5"}

    def prepare_value(self, value: Any) -> Any:
        return minutes_words(value) if isinstance(value, (int, float)) else value

    def to_python(self, value: Any) -> int | None:
        if value in self.empty_values:
            return None
        seconds = self._seconds(" ".join(str(value).split()))
        if seconds < self.low_s:
            raise forms.ValidationError(f"That is shorter than {minutes_words(self.low_s)}.")
        if seconds > self.high_s:
            raise forms.ValidationError(f"That is longer than {minutes_words(self.high_s)}.")
        return seconds

    def _seconds(self, text: str) -> int:
        if found := _CLOCK.fullmatch(text.replace(" ", "")):
            hours, minutes, seconds = (int(part or 0) for part in found.groups())
            return hours * 3600 + minutes * 60 + seconds
        if found := _TWO_DECIMALS.fullmatch(text):
            whole, part = found.groups()
            raise forms.ValidationError(
                f"Is that {whole}:{part}, or {whole}.{part.rstrip('0') or '0'} minutes? Write it that way."
            )
        try:
            number, unit = units.parse_number(text)
        except ValueError as wrong:
            raise forms.ValidationError(f"{wrong} Minutes are typed as 21:30 or 21.5.") from wrong
        factor = {"": 60, "min": 60, "minutes": 60, "m": 60, "s": 1, "sec": 1, "h": 3600}.get(unit.casefold())
        if factor is None:
            raise forms.ValidationError("Give it in minutes, as 21:30 or 21.5.")
        if number < 0 or number * factor > 1e6:
            raise forms.ValidationError("That is no length of a side.")
        return round(number * factor)


class TitlesField(forms.Field):
    """The titles of a side, a line each: "3:41 Ferry Song", or their lengths alone. Cleans to a list of WantedTitle."""

    widget = forms.Textarea
    unit = ""

    def __init__(self, *, high_s: int = 7200, **rest: Any) -> None:
        self.length = MinutesField(high_s=high_s)
        super().__init__(required=False, **rest)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"rows": 4, "cols": 40, "autocomplete": "off"}

    def prepare_value(self, value: Any) -> Any:
        """Kept titles (an initial value) as lines; typed text as it was typed."""
        if not isinstance(value, list | tuple):
            return value
        return "\n".join(f"{minutes_words(title['play_s'])} {title['name']}".strip() for title in value)

    def to_python(self, value: Any) -> list[WantedTitle]:
        lines = [" ".join(line.split()) for line in str(value or "").splitlines()]
        return [self._title(line) for line in lines if line]

    def _title(self, line: str) -> WantedTitle:
        length, _, name = line.partition(" ")
        if len(name) > 80:
            raise forms.ValidationError(f"“{name[:20]}…” is too long: a name has at most 80 letters.")
        try:
            seconds = self.length.clean(length)
        except forms.ValidationError as wrong:
            raise forms.ValidationError(
                f"“{line[:40]}”: each line begins with a length, as 3:41 {name[:30]}."
            ) from wrong
        return WantedTitle(seconds, name)


class TipRadiusField(QuantityField):
    """The radius of a tip in µm; empty where it is not known, which 0 does not say."""

    def __init__(self, **rest: Any) -> None:
        low, high = TIP_RADIUS_UM
        super().__init__("groove", label="Radius of the tip", low=low, high=high, required=False, **rest)

    def check_bounds(self, number: float) -> None:
        if number == 0:
            raise forms.ValidationError(NO_RADIUS)
        super().check_bounds(number)


class PitchField(NumberField):
    """A pitch typed in lines per inch, or in µm with the unit after it; cleans to µm. low, high: bounds in µm."""

    def __init__(self, **rest: Any) -> None:
        super().__init__(**rest)
        self.unit = "lines/in"

    def in_stored_unit(self, number: float, typed_unit: str) -> float:
        unit = typed_unit.casefold().replace(" ", "").rstrip(".")
        if unit in ("", "lines/in", "lines/inch", "linesperinch", "lpi", "l/in", "lines", "tpi", "/in"):
            if not number > 0:
                raise forms.ValidationError("Give a number of lines above zero.")
            return units.pitch_um_from_lines(number)
        try:
            return units.to_stored("groove", number, typed_unit)
        except ValueError as wrong:
            raise forms.ValidationError("Give lines per inch, or a pitch in µm (115 µm).") from wrong

    def check_bounds(self, number: float) -> None:
        low, high = self.low or 0, self.high or 1e9
        if not low <= number <= high:
            most, fewest = units.lines_from_pitch_um(low), units.lines_from_pitch_um(high)
            raise forms.ValidationError(f"Give {fewest:.0f} to {most:.0f} lines per inch ({low:g} to {high:g} µm).")

    def prepare_value(self, value: Any) -> Any:
        """A stored pitch (an initial one) as lines per inch, to a tenth; typed text as it was typed.

        Rounded up, which is tighter: a side that fits must still fit when the box is sent back as it stands.
        """
        if not isinstance(value, (int, float)) or not value > 0:
            return value
        return f"{math.ceil(10 * units.lines_from_pitch_um(value) - 1e-6) / 10:g}"
