"""Forms of readings."""

from collections.abc import Mapping
from typing import Any

from shop.calc import units
from shop.press.fields import MomentField
from shop.press.forms import PressForm
from shop.room.fields import ReadingField, note_field
from shop.room.kinds import KINDS
from shop.room.models import Reading, ReadingKind


class TakeReadingsForm(PressForm):
    """Any of the room's readings at once; a box left empty is a reading not taken."""

    at = MomentField(label="Read at", help_text="Empty for now.")
    note = note_field()

    def __init__(
        self, data: Any = None, *, person: Any, earlier: Mapping[ReadingKind, Reading] | None = None, **rest: Any
    ) -> None:
        super().__init__(data, person=person, **rest)
        for kind in KINDS:
            field = ReadingField(kind, required=False)
            field.speak_to(person)
            field.show_before((earlier or {}).get(kind))
            self.fields[str(kind)] = field
        self.order_fields([*KINDS, "at", "note"])
        self.fieldsets = [
            ("Gas", [ReadingKind.NITROGEN_BAR]),
            ("Air", [ReadingKind.ROOM_C, ReadingKind.ROOM_RH]),
            ("Blank store", [ReadingKind.STORE_C, ReadingKind.STORE_RH]),
            (
                "Suction",
                [ReadingKind.HOLD_DOWN_KPA, ReadingKind.CHIP_KPA, ReadingKind.TRAP_KPA, ReadingKind.PUMP_KPA],
            ),
            ("Head", [ReadingKind.HEATER_MA]),
            ("When", ["at", "note"]),
        ]

    def typed(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        values = {kind: cleaned[kind] for kind in KINDS if cleaned.get(kind) is not None}
        return {"values": values, "at": cleaned["at"], "note": cleaned["note"]}


class CorrectReadingForm(PressForm):
    reason = note_field("What was wrong with it", required=True)

    def __init__(self, data: Any = None, *, person: Any, reading: Reading, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        field = ReadingField(ReadingKind(reading.kind), label="What it should have been")
        field.speak_to(person)
        shown = units.show(field.kind, reading.value, field.unit)
        field.hint_before = f"Kept until now: {shown}"
        self.fields["value"] = field
        self.order_fields(["value", "reason"])
