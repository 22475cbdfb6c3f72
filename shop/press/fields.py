"""Form fields that read numbers the way people type them beside a lathe."""

import re
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from shop import clock
from shop.calc import units

_OFFSET = re.compile(r"[+-][0-9]{2}:[0-9]{2}$")


#: Units that are words, and lose their s after one.
_COUNTED = ("days", "hours", "minutes", "sides", "weeks", "years")


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
        unit = self.unit.removesuffix("s") if number == 1 and self.unit in _COUNTED else self.unit
        return f"{grouped} {unit}".strip()

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


@dataclass(frozen=True)
class Which:
    """One of the two moments of a time that came twice, as a choice. value: its offset, as it is typed after a time."""

    name: str
    value: str
    words: str
    is_chosen: bool


class MomentInput(forms.DateTimeInput):
    """The device's own picker. It has no room for which of two is meant, where the clocks went back: that is a choice
    of its own (parts/field_errors.html), which comes along as the time's offset.
    """

    def __init__(self) -> None:
        super().__init__(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        text = super().value_from_datadict(data, files, name)
        which = data.get(f"{name}_which")
        if isinstance(text, str) and which in [_offset(one) for one in _both_of(text)]:
            return f"{text.strip()}{which}"
        return text

    def format_value(self, value: Any) -> Any:
        text, _ = _apart(value)
        return super().format_value(text)

    def choices_of(self, name: str, value: Any) -> list[Which]:
        """The two that may be meant; none for a time that came once. value: as for format_value."""
        text, chosen = _apart(value)
        words = ("The first, before the clocks went back", "The second, after they went back")
        return [
            Which(f"{name}_which", _offset(one), f"{said} ({_zone_words(one)})", _offset(one) == chosen)
            for said, one in zip(words, _both_of(text), strict=False)
        ]


class MomentField(forms.DateTimeField):
    """A moment on the room's clock; empty for now. Of one that the clocks repeated it asks which, one that they skipped
    is refused."""

    widget = MomentInput

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
        except forms.ValidationError as wrong:
            if wrong.code != "ambiguous_timezone" or not wrong.params:
                raise
            raise forms.ValidationError(_changed_words(wrong.params["datetime"]), code=wrong.code) from wrong


def _changed_words(local: datetime) -> str:
    """Why a time on the room's clock is none, or two."""
    change = clock.change_at(local)
    assert change is not None
    before, after = (f"{moment:%H:%M}" for moment in change)
    if change[0] < change[1]:
        return (
            f"The clocks went from {before} to {after} that night: there was no {local:%H:%M}. Give another time, or "
            "the day if it is another."
        )
    return f"The clocks went back from {before} to {after} that night: {local:%H:%M} came twice. Say which it was."


def _apart(value: Any) -> tuple[Any, str]:
    """A value of MomentInput as it stands in the box, and the offset that says which of two is meant ("" for none)."""
    if isinstance(value, datetime):
        both = clock.both_of(value.replace(fold=0)) if timezone.is_naive(value) else None
        return value, _offset(both[value.fold]) if both else ""
    text = str(value or "").strip()
    for one in _both_of(text[:-6]) if _OFFSET.search(text) else ():
        if text.endswith(_offset(one)):
            return text[:-6], _offset(one)
    return value, ""


def _both_of(text: Any) -> tuple[datetime, ...]:
    """The two moments of a typed time that came twice."""
    try:
        local = text if isinstance(text, datetime) else datetime.fromisoformat(str(text or "").strip())
        return (clock.both_of(local) or ()) if timezone.is_naive(local) else ()
    except (ValueError, OverflowError):
        return ()


def _offset(moment: datetime) -> str:
    return moment.isoformat()[-6:]


def _zone_words(moment: datetime) -> str:
    name = moment.tzname() or ""
    return name if name.isalpha() else f"UTC{_offset(moment)}"
