"""The forms of the log."""

from collections.abc import Sequence
from typing import Any

from django import forms

from shop.log import things
from shop.log.actions import LONGEST
from shop.log.models import Crowd, Note, NoteKind
from shop.log.things import Thing
from shop.people.models import HANDS, Person
from shop.press.forms import PressForm

#: A person among those a note is for: "p12", beside the crowds.
_PERSON = "p"
#: The most things that are shown as ticks; nobody meets as many.
MOST_OFFERED = 50


class WriteNoteForm(PressForm):
    """A text, whom it is for, and what it is about. about: things it is about from the start.

    What is typed into `also` is looked for when it is pressed. Where it may be several things they are offered as
    ticks, and ticking one of them settles what was meant.
    """

    kind = forms.ChoiceField(
        label="What it is", choices=NoteKind.choices, widget=forms.RadioSelect, initial=NoteKind.NOTE
    )
    text = forms.CharField(label="What is to be known", max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 5}))
    whom = forms.MultipleChoiceField(
        label="For",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="They see it on today’s page until they have read it. Nobody ticked: it is kept to be looked up.",
    )
    about = forms.MultipleChoiceField(label="It is about", required=False, widget=forms.CheckboxSelectMultiple)
    also = forms.CharField(
        label="About what",
        max_length=300,
        required=False,
        help_text=("A lot, stylus, duty, sheet, booking, order, cylinder: its code or name. Commas between several."),
    )

    not_typed = ("also", "whom")

    def __init__(self, data: Any = None, *, person: Person, about: Sequence[Thing] = (), **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self._known = {thing.ref: thing for thing in about}
        self._meant: list[str] = []
        if self.is_bound:
            came = dict(self.data.lists()).get(self.add_prefix("about"), [])  # type: ignore[attr-defined]
            new = [ref for ref in came if ref not in self._known][:MOST_OFFERED]
            self._known |= {thing.ref: thing for thing in things.named(new)}
        else:
            self.initial.setdefault("about", list(self._known))
        people = Person.objects.filter(is_active=True, role__in=HANDS).exclude(pk=person.pk).order_by("name", "pk")
        self._people = {f"{_PERSON}{one.pk}": one for one in people}
        self.fields["whom"].choices = [  # type: ignore[attr-defined]
            *Crowd.choices,
            *((key, one.name) for key, one in self._people.items()),
        ]
        self._offer()

    def _offer(self) -> None:
        """Show the things known so far as ticks; where there are none, no empty box."""
        self.fields["about"].choices = [(ref, thing.words) for ref, thing in self._known.items()]  # type: ignore[attr-defined]
        if not self._known:
            self.fields["about"].widget = forms.MultipleHiddenInput()
        else:
            self.fields["about"].widget = forms.CheckboxSelectMultiple(choices=self.fields["about"].choices)  # type: ignore[attr-defined]
        self.fields["also"].label = "And about what else" if self._known else "About what"

    def clean_also(self) -> str:
        """What was typed, once each of its parts is one thing: found alone, or ticked among those offered."""
        typed = str(self.cleaned_data["also"])
        ticked = set(self.cleaned_data.get("about", ()))
        for part in self._parts(typed):
            found = things.find(part)
            if len(found) > things.MOST:
                raise forms.ValidationError(f"“{part}” is in very many names. Type more of it.")
            if not found:
                raise forms.ValidationError(f"Nothing here has “{part}” in its code or name. Look at the spelling.")
            if any(thing.ref in ticked for thing in found):
                continue
            one = things.meant(found)
            if one is None:
                self._known |= {thing.ref: thing for thing in found}
                self._offer()
                raise forms.ValidationError(f"“{part}” may be {len(found)} things. Tick the one you mean above.")
            self._meant.append(one.ref)
        return typed

    @staticmethod
    def _parts(typed: str) -> list[str]:
        """The names typed: all of it, where something is called just so; else what stands between commas."""
        if "," in typed and any(one.label.casefold() == typed.casefold() for one in things.find(typed)):
            return [typed]
        return [part.strip() for part in typed.split(",") if part.strip()][:10]

    def typed(self) -> dict[str, Any]:
        whom = self.cleaned_data["whom"]
        return {
            **super().typed(),
            "about": list(dict.fromkeys([*self.cleaned_data["about"], *self._meant])),
            "crowds": [key for key in whom if key not in self._people],
            "people": [self._people[key] for key in whom if key in self._people],
        }


class CorrectNoteForm(WriteNoteForm):
    """Begins with what the note says now."""

    def __init__(self, data: Any = None, *, person: Person, note: Note, **rest: Any) -> None:
        linked = note.things
        whom = [one.crowd or f"{_PERSON}{one.person_id}" for one in note.addressees.all()]
        begun = {"kind": note.kind, "text": note.text, "whom": whom, "about": [thing.ref for thing in linked]}
        super().__init__(data, person=person, about=linked, initial=begun, **rest)


class ReadNoteForm(PressForm):
    """Nothing but the press."""
