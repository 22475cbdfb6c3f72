"""Forms of reports: short, for somebody who stands beside what happened."""

from typing import Any

from django import forms

from shop.duties.models import FOR_ROLES
from shop.people.models import HANDS, Person
from shop.press.fields import DayField, MomentField
from shop.press.forms import PressForm
from shop.safety.actions.incidents import FollowUp
from shop.safety.models import HazardSheet, Incident, IncidentKind, Place, Substance

_YES, _NO = "yes", "no"


class ReportIncidentForm(PressForm):
    """Three choices and a few words; all else may be left out. Whether it is signed is never chosen beforehand."""

    near_miss = forms.ChoiceField(
        label="Did it happen?",
        choices=[(_NO, "It happened"), (_YES, "It nearly happened")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it happened, or nearly did."},
    )
    kind = forms.ChoiceField(
        label="What sort of thing",
        choices=IncidentKind.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what sort of thing it was."},
    )
    what = forms.CharField(
        label="What happened",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What you saw, in a few words.",
        error_messages={"required": "Say in a few words what happened."},
    )
    hurt = forms.CharField(
        label="Who was hurt, and how",
        max_length=500,
        required=False,
        help_text="Empty if nobody was. Shown to those who work here only.",
    )
    done = forms.CharField(
        label="What was done at once", max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    substance = forms.ModelChoiceField(
        Substance.objects.filter(is_active=True), label="Substance", required=False, empty_label="None, or not known"
    )
    place = forms.ModelChoiceField(
        Place.objects.filter(is_active=True), label="Where", required=False, empty_label="Not said"
    )
    at = MomentField()
    signed = forms.ChoiceField(
        label="Your name",
        choices=[(_YES, "With my name"), (_NO, "Without my name")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose whether it is to hold your name."},
    )

    def typed(self) -> dict[str, Any]:
        said = super().typed()
        return {**said, "near_miss": said["near_miss"] == _YES, "signed": said["signed"] == _YES}

    @property
    def more_is_open(self) -> bool:
        """Whether something that may be left out was filled in, or refused."""
        names = ("done", "substance", "place", "at")
        return any(self[name].errors or self[name].value() for name in names)


class NoteIncidentForm(PressForm):
    """A word; for engineers besides what follows, what a sheet learns, and whether that is the end of it."""

    text = forms.CharField(
        label="What came of it",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Write a few words."},
    )
    duty_name = forms.CharField(
        label="To be done", max_length=80, required=False, help_text="As one says it: “Move the lamp off the trap”."
    )
    due_on = DayField(label="By when", required=False)
    for_whom = forms.ChoiceField(label="For whom", required=False)
    sheet = forms.ModelChoiceField(
        HazardSheet.objects.filter(is_active=True),
        label="A lesson for the sheet",
        required=False,
        empty_label="For none",
        help_text="What you wrote above stands with that sheet from now on.",
    )
    closes = forms.BooleanField(label="Nothing is left to do about it: close it", required=False)

    fieldsets = (
        ("", ("text",)),
        ("What follows from it", ("duty_name", "due_on", "for_whom")),
        ("What was learned", ("sheet", "closes")),
    )
    _engineers = ("duty_name", "due_on", "for_whom", "sheet", "closes")

    def __init__(self, data: Any = None, *, person: Person, incident: Incident, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        if not person.is_engineer:
            for name in self._engineers:
                del self.fields[name]
            return
        people = Person.objects.filter(is_active=True, role__in=HANDS)
        whom = self.fields["for_whom"]
        assert isinstance(whom, forms.ChoiceField)
        whom.choices = [("", "Whoever is there"), *FOR_ROLES, *((f"p{one.pk}", one.name) for one in people)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("duty_name") and not cleaned.get("due_on") and "due_on" not in self.errors:
            self.add_error("due_on", "Say by when.")
        if cleaned.get("due_on") and not cleaned.get("duty_name"):
            self.add_error("duty_name", "Say what is to be done by then.")
        return cleaned

    def typed(self) -> dict[str, Any]:
        said = self.cleaned_data
        if "closes" not in self.fields:
            return {"text": said["text"]}
        return {
            "text": said["text"],
            "follow_up": self._follow_up() if said["duty_name"] else None,
            "sheet": said["sheet"],
            "closes": said["closes"],
        }

    def _follow_up(self) -> FollowUp:
        said = self.cleaned_data
        whom = said["for_whom"]
        person = Person.objects.get(pk=int(whom[1:])) if whom[:1] == "p" and whom[1:].isdigit() else None
        return FollowUp(said["duty_name"], said["due_on"], for_role="" if person else whom, for_person=person)
