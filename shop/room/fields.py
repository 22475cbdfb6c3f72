"""Form fields for readings."""

from typing import Any

from django import forms

from shop.people.fields import QuantityField
from shop.people.models import Units
from shop.room.kinds import KINDS
from shop.room.models import Reading, ReadingKind
from shop.room.readings import impossible
from shop.room.wording import before, unit_slip


def note_field(label: str = "Note", *, required: bool = False, longest: int = 300) -> forms.CharField:
    """A line of words."""
    return forms.CharField(label=label, required=required, max_length=longest)


class FillTemperatureField(QuantityField):
    """The temperature of a stated fill. A number that is likely in the other unit is asked about with the refusal."""

    #: Fills are stated at some temperature of a room: our own choice.
    LIKELY_C = (0.0, 40.0)

    def __init__(self, **rest: Any) -> None:
        super().__init__("temperature", **rest)
        self.reader: Units | None = None

    def speak_to(self, person: Units) -> None:
        super().speak_to(person)
        self.reader = person

    def check_bounds(self, number: float) -> None:
        try:
            super().check_bounds(number)
        except forms.ValidationError as wrong:
            low, high = self.LIKELY_C
            slip = unit_slip("temperature", number, self.reader, lambda c: low <= c <= high) if self.reader else ""
            if not slip:
                raise
            raise forms.ValidationError(f"{wrong.message} {slip}") from wrong


class ReadingField(QuantityField):
    """A reading typed in the person's unit, the value before it shown under the box.

    What cannot be is refused at the field; what looks wrong is the action's to ask about.
    """

    def __init__(self, reading_kind: ReadingKind, **rest: Any) -> None:
        self.reading_kind = reading_kind
        self.about = KINDS[reading_kind]
        self.reader: Units | None = None
        self.hint_before = ""
        super().__init__(
            self.about.quantity,
            **{
                "label": self.about.name,
                "help_text": f"{self.about.place}. {self.about.note}",
                # only to tell whether a minus may be needed: check_bounds does not use it
                "low": 0 if self.about.possible[0] >= 0 else None,
            }
            | rest,
        )

    def speak_to(self, person: Units) -> None:
        super().speak_to(person)
        self.reader = person

    def show_before(self, reading: Reading | None) -> None:
        """Say under the box what was read before. Call it after speak_to."""
        if self.reader is None:
            raise TypeError("speak_to comes first: the value is shown in the person's unit")
        self.hint_before = before(reading, self.about, self.reader)

    def check_bounds(self, number: float) -> None:
        if self.reader is None:
            raise TypeError("speak_to comes first: the refusal speaks the person's unit")
        if sentence := impossible(self.reading_kind, number, self.reader):
            raise forms.ValidationError(sentence)
