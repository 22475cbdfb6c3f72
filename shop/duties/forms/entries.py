"""Forms of what is recorded about a duty."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop import clock
from shop.duties import effects, photos
from shop.duties.actions.entries import StepDone, step_field, touch_field
from shop.duties.forms.photos import PhotoField
from shop.duties.models import Duty, DutyStep, Entry, EntryStep, StepQuantity, Touch
from shop.duties.photos import KeptPhoto
from shop.duties.wording import limits_words, reading_words
from shop.people import authority
from shop.people.eyes import eye_field
from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.forms import PressForm

#: Bounds of what may be read, in the stored unit: no reading of a room lies beyond them.
_HIGHEST = 1e6
_LOWEST = {StepQuantity.TEMPERATURE: -273.0}

CHANGED_STEPS = (
    "Its steps were changed while your form was open. They stand here as they are now, with what you typed where it "
    "still has its place."
)


def reading_field(step: DutyStep, last: EntryStep | None, reader: Person) -> forms.Field:
    """The box of a step's reading, with the shop's limits and the last value under it."""
    limits = limits_words(step, reader)
    low = _LOWEST.get(StepQuantity(step.quantity), 0.0)
    said: dict[str, Any] = {
        "label": step.reads,
        "required": False,
        "help_text": f"The shop's own limits: {limits}." if limits else "",
    }
    field: NumberField
    if step.quantity == StepQuantity.PLAIN:
        below = step.low is not None and step.low < 0
        field = NumberField(unit=step.unit, low=-_HIGHEST if below else 0, high=_HIGHEST, **said)
    else:
        field = QuantityField(step.quantity, low=low, high=_HIGHEST, **said)
        field.speak_to(reader)
    if last is not None and last.reading is not None:
        field.hint_before = f"Last: {reading_words(last.reading, last, reader)}"  # type: ignore[attr-defined]
    return field


@dataclass(frozen=True)
class StepBoxes:
    """One step in the form: its tick, and the boxes of its reading and its photograph where it asks for them."""

    step: DutyStep
    number: int
    tick: BoundField
    reading: BoundField | None
    photo: BoundField | None
    kept_name: str
    kept: str


class DoDutyForm(PressForm):
    """A tick for each step, a box for each reading, what is taken, and under whose eye.

    last: the last readings, by step. A photograph that came with a press that was refused is kept: the form hands it
    back, and need not be given it again.
    """

    asked = forms.CharField(required=False, widget=forms.HiddenInput)
    not_typed = ("asked",)

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        person: Person,
        duty: Duty,
        steps: Iterable[DutyStep],
        touches: Iterable[Touch],
        last: Mapping[int, EntryStep] | None = None,
        **rest: Any,
    ) -> None:
        self.duty, self.steps = duty, list(steps)
        self.kept: dict[int, KeptPhoto] = {}
        super().__init__(data, files=files, person=person, **rest)
        self.fingerprint = _fingerprint(self.steps)
        for step in self.steps:
            self._add_step(step, (last or {}).get(step.pk))
        self.touches = [touch for touch in touches if self._add_touch(touch)]
        self.fields["under"] = eye_field(duty.authority, person)
        self.fields["at"] = MomentField()
        label = "Why a step was left out" if self.leaves_out else "Remark"
        self.fields["note"] = forms.CharField(label=label, max_length=500, required=False)

    def _add_step(self, step: DutyStep, last: EntryStep | None) -> None:
        name = step_field(step)
        self.fields[name] = forms.BooleanField(label=step.text, required=False)
        if step.reads:
            self.fields[f"{name}_reading"] = reading_field(step, last, self.person)
        if step.wants_photo:
            self.fields[f"{name}_photo"] = PhotoField()
            ticket = self.data.get(f"{name}_kept", "") if self.is_bound else ""
            if ticket and (photo := photos.from_ticket(ticket, self.person.pk)):
                self.kept[step.pk] = photo

    def _add_touch(self, touch: Touch) -> bool:
        """A box for how much is taken, where the touch is measured."""
        effect = effects.of_kind(touch.kind)
        if effect is None or not effect.measured or touch.target is None:
            return False
        field = effect.amount_field(touch.target)
        field.initial, field.help_text = touch.amount, effect.ahead(touch.target, self.person)
        if hasattr(field, "speak_to"):
            field.speak_to(self.person)
        self.fields[touch_field(touch)] = field
        return True

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("asked") != self.fingerprint:
            self.add_error(None, CHANGED_STEPS)
        for step in self.steps:
            if photo := cleaned.get(f"{step_field(step)}_photo"):
                self.kept[step.pk] = photo
        return cleaned

    def typed(self) -> dict[str, Any]:
        said = self.cleaned_data
        return {
            "steps": [
                StepDone(
                    step,
                    said[step_field(step)],
                    reading=said.get(f"{step_field(step)}_reading"),
                    photo=self.kept.get(step.pk),
                )
                for step in self.steps
            ],
            "amounts": {touch.pk: said[touch_field(touch)] for touch in self.touches},
            "under": said["under"],
            "at": said["at"],
            "note": said["note"],
        }

    @property
    def leaves_out(self) -> bool:
        """Whether it was sent with a step unticked: then the remark says why, and stands in sight."""
        return self.is_bound and any(not self.data.get(step_field(step)) for step in self.steps)

    @property
    def step_boxes(self) -> list[StepBoxes]:
        found = []
        for number, step in enumerate(self.steps, 1):
            name = step_field(step)
            kept = self.kept.get(step.pk)
            found.append(
                StepBoxes(
                    step=step,
                    number=number,
                    tick=self[name],
                    reading=self[f"{name}_reading"] if step.reads else None,
                    photo=self[f"{name}_photo"] if step.wants_photo else None,
                    kept_name=f"{name}_kept",
                    kept=photos.ticket(kept, self.person.pk) if kept else "",
                )
            )
        return found

    @property
    def touch_boxes(self) -> list[BoundField]:
        return [self[touch_field(touch)] for touch in self.touches]

    @property
    def needs_eye(self) -> bool:
        """Whether this person may only do it under another's eye."""
        return not authority.holds(self.person, self.duty.authority, clock.today())


def _fingerprint(steps: Iterable[DutyStep]) -> str:
    """Changes when the steps do, so that nobody ticks what was not asked."""
    asked = [[step.pk, step.text, step.reads, step.quantity, step.unit] for step in steps]
    return hashlib.sha256(json.dumps(asked).encode()).hexdigest()[:16]


class CorrectEntryForm(DoDutyForm):
    """An entry put on record anew: what was given stands in the boxes, and the note says what is put right."""

    def __init__(
        self, data: Any = None, files: Any = None, *, entry: Entry, amounts: Mapping[int, int], **rest: Any
    ) -> None:
        given = {line.step_id: line for line in entry.steps.all()}
        super().__init__(data, files, duty=entry.duty, **rest)
        for step in self.steps:
            line = given.get(step.pk)
            self.fields[step_field(step)].initial = line is not None and line.is_done
            if step.reads and line is not None:
                self.fields[f"{step_field(step)}_reading"].initial = line.reading
        for touch in self.touches:
            self.fields[touch_field(touch)].initial = amounts.get(touch.pk, 0)
        self.fields["under"].initial = entry.under_id
        self.fields["at"].label, self.fields["at"].initial = "When it was done", entry.at
        note = self.fields["note"]
        note.label, note.required = "What is put right, and why", True
        note.error_messages["required"] = "Say what is put right, and why."


class StrikeEntryForm(PressForm):
    note = forms.CharField(
        label="Why it is struck out",
        max_length=500,
        error_messages={"required": "Say why; it is kept with the entry."},
    )


class PutOffDutyForm(PressForm):
    until = DayField(label="Until when", error_messages={"required": "Give the day it is put off to."})
    reason = forms.CharField(
        label="Why it is put off",
        max_length=500,
        error_messages={"required": "Give the reason; it is kept with your name."},
    )


class NotNeededForm(PressForm):
    reason = forms.CharField(
        label="Why it is not needed this time",
        max_length=500,
        error_messages={"required": "Give the reason; it is kept with your name."},
    )
