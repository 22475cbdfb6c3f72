"""The check's form, built from the room's own list, and the small forms around it."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop.concern import Grade
from shop.morning.answers import CHANGED_LIST, Given, field_name
from shop.morning.models import Answer, AnswerKind, Question
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.forms import PressForm
from shop.room.fields import ReadingField
from shop.room.kinds import KINDS
from shop.room.models import Reading, ReadingKind

YES, NO = "yes", "no"


@dataclass(frozen=True)
class Line:
    """One question in the form: its answer's field, and the one for a note (or why a reading was left out)."""

    question: Question
    answer: BoundField
    note: BoundField

    @property
    def is_reading(self) -> bool:
        return self.question.kind == AnswerKind.READING

    @property
    def note_is_open(self) -> bool:
        """Whether the note holds something, or is what is missing: then it is shown unfolded."""
        return bool(self.note.value() or self.note.errors or (self.answer.errors and not self.answer.value()))


@dataclass(frozen=True)
class Place:
    name: str
    lines: list[Line]


def _fingerprint(questions: Iterable[Question]) -> str:
    """Changes when the list, its order or a wording does, so that nobody answers what was not asked."""
    asked = [[question.pk, question.text, question.kind, question.reading] for question in questions]
    return hashlib.sha256(json.dumps(asked).encode()).hexdigest()[:16]


class AskedReadingField(ReadingField):
    """A reading that is asked for: empty is for the form to judge, which knows whether a reason was given instead."""

    def validate(self, value: Any) -> None:
        if value not in self.empty_values:
            super().validate(value)


class MakeCheckForm(PressForm):
    """One field for each question of the list, under the names that refusals use (answers.field_name).

    previous: the last readings, written under the boxes. given: the answers of a check being corrected, by question.
    """

    asked = forms.CharField(required=False, widget=forms.HiddenInput)
    note = forms.CharField(
        label="Anything else worth keeping", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(
        self,
        data: Any = None,
        *,
        person: Person,
        questions: Iterable[Question],
        previous: Mapping[ReadingKind, Reading],
        given: Mapping[int, Answer] | None = None,
        **rest: Any,
    ) -> None:
        self.questions = list(questions)
        self.given = given or {}
        self.previous = previous
        super().__init__(data, person=person, **rest)
        self.fingerprint = _fingerprint(self.questions)
        note = self.fields.pop("note")
        for question in self.questions:
            self._add(question, self.given.get(question.pk))
        self.fields["note"] = note

    def _add(self, question: Question, answer: Answer | None) -> None:
        name = field_name(question)
        note_label = "What did you find?"
        if question.kind == AnswerKind.READING:
            field: forms.Field = self._reading_field(question, answer)
            note_label = "Why it can't be read"
        else:
            field = forms.ChoiceField(
                label=question.text,
                choices=[(YES, "Yes"), (NO, "No")],
                widget=forms.RadioSelect,
                help_text=question.why,
                error_messages={"required": "Answer yes or no."},
            )
            if answer and answer.yes is not None:
                field.initial = YES if answer.yes else NO
        self.fields[name] = field
        note = self.fields[f"{name}_note"] = forms.CharField(
            label=note_label,
            max_length=300,
            required=False,
            initial=answer.note if answer else "",
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
        )
        # one of the two must be filled in, so neither says "if you like" (parts/field.html)
        note.is_instead = question.kind == AnswerKind.READING  # type: ignore[attr-defined]

    def _reading_field(self, question: Question, answer: Answer | None) -> ReadingField:
        kind = ReadingKind(question.reading)
        field = AskedReadingField(kind, label=question.text, help_text=f"{KINDS[kind].note} {question.why}".strip())
        field.speak_to(self.person)
        field.show_before(answer.reading if answer and answer.reading else self.previous.get(kind))
        if answer and answer.reading:
            field.initial = answer.reading.value
        return field

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("asked") != self.fingerprint:
            self.add_error(None, CHANGED_LIST)
        for question in self.questions:
            name = field_name(question)
            if question.kind != AnswerKind.READING or name in self.errors:
                continue
            cleaned[name] = self._as_it_was(name, cleaned.get(name))
            if cleaned[name] is None and not cleaned.get(f"{name}_note"):
                self.add_error(name, "Give the reading, or say why it can't be read.")
        return cleaned

    def _as_it_was(self, name: str, value: float | None) -> float | None:
        """The stored value itself where its rounded text came back untouched."""
        field = self.fields[name]
        if value is None or field.initial is None:
            return value
        typed = str(self.data.get(self.add_prefix(name), "")).strip()
        return field.initial if typed == field.prepare_value(field.initial) else value

    def typed(self) -> dict[str, Any]:
        answers = []
        for question in self.questions:
            value = self.cleaned_data[field_name(question)]
            note = self.cleaned_data[f"{field_name(question)}_note"]
            if question.kind == AnswerKind.READING:
                answers.append(Given(question, value=value, note=note))
            else:
                answers.append(Given(question, yes=value == YES, note=note))
        return {"answers": answers, "note": self.cleaned_data["note"]}

    def places(self) -> list[Place]:
        """The questions place by place, as the room is walked."""
        found: list[Place] = []
        for question in self.questions:
            name = field_name(question)
            if not found or found[-1].name != question.place:
                found.append(Place(question.place, []))
            found[-1].lines.append(Line(question, self[name], self[f"{name}_note"]))
        return found


class CorrectCheckForm(MakeCheckForm):
    """A check signed anew: what was given stands in the fields, and the note says what is put right."""

    def __init__(self, data: Any = None, **rest: Any) -> None:
        super().__init__(data, **rest)
        note = self.fields["note"]
        note.label = "What is put right, and why"
        note.required = True
        note.error_messages["required"] = "Say what is put right, and why."


class OverruleCheckForm(PressForm):
    reason = forms.CharField(
        label="Why the day goes on in spite of it",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Kept with the check, with your name, and printed on it.",
        error_messages={"required": "Give the reason; it is kept with the check."},
    )


class _WordedForm(PressForm):
    """The wording and weight of a question."""

    place = forms.CharField(label="Where in the room", max_length=60)
    text = forms.CharField(label="Question", max_length=160, help_text="Worded so that yes is the good answer.")
    why = forms.CharField(label="Why it is asked", max_length=300, required=False)
    grade_if_no = forms.TypedChoiceField(
        label="What a no, or a reading left out, weighs",
        choices=[
            (int(Grade.NOTE), "Note: worth knowing"),
            (int(Grade.CARE), "Care: cut with care"),
            (int(Grade.HOLD), "Hold: put it right first"),
        ],
        coerce=int,
        widget=forms.RadioSelect,
        initial=int(Grade.CARE),
    )
    what_to_do = forms.CharField(label="What to do if not", max_length=300, required=False)
    source = forms.CharField(
        label="Where this is from",
        max_length=200,
        required=False,
        help_text="A rule or a sheet, if there is one; else what it rests on, such as “common practice, no source”.",
    )


class ChangeQuestionForm(_WordedForm, ChangeForm):
    pass


class AddQuestionForm(_WordedForm):
    kind = forms.ChoiceField(
        label="How it is answered", choices=AnswerKind, widget=forms.RadioSelect, initial=AnswerKind.YES_NO
    )
    reading = forms.ChoiceField(
        label="What is read", choices=[("", "Nothing: yes or no"), *ReadingKind.choices], required=False
    )
    field_order = ["place", "kind", "reading", "text", "why", "grade_if_no", "what_to_do", "source"]


class MoveQuestionForm(PressForm):
    way = forms.ChoiceField(choices=[("up", "Up"), ("down", "Down")])

    def typed(self) -> dict[str, Any]:
        return {"up": self.cleaned_data["way"] == "up"}


class SwitchQuestionForm(PressForm):
    to = forms.ChoiceField(choices=[("on", "Ask it"), ("off", "Leave it out")])

    def typed(self) -> dict[str, Any]:
        return {"on": self.cleaned_data["to"] == "on"}
