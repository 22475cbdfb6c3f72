"""Forms of programmes, their steps, and the questions of a step."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.db.models import prefetch_related_objects

from shop.duties import sheets
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.press.rows import RowForm
from shop.training.models import Act, Programme, Question, Step, StepKind
from shop.training.programmes import CHOICES, LAST_DAY, MOST_MONTHS, MOST_QUESTIONS, MOST_TIMES, Facts, WantedQuestion

_LINES = forms.Textarea({"rows": 6})


class _ProgrammeFields(PlainForm):
    name = forms.CharField(max_length=80, label="What it is called")
    why = forms.CharField(max_length=500, required=False, label="What it is for", widget=forms.Textarea({"rows": 3}))


class AddProgrammeForm(PressForm, _ProgrammeFields):
    pass


class ChangeProgrammeForm(ChangeForm, _ProgrammeFields):
    pass


class CopyProgrammeForm(PressForm):
    name = forms.CharField(max_length=80, label="What the copy is called")


class StopProgrammeForm(ChangeForm):
    why = forms.CharField(max_length=200, label="Why", error_messages={"required": "Say why; it is kept."})

    def kept(self, row: Programme) -> dict[str, Any]:
        return {"version": row.version}  # its own “why” says what it is for, not why it stops


class ResumeProgrammeForm(ChangeForm):
    pass


# Steps ----------------------------------------------------------------------------------------------------------------


class StepChoice(forms.ModelChoiceField):
    """A step of a programme, by its title."""

    def label_from_instance(self, obj: Any) -> str:
        return str(obj.title)


class StepsChoice(forms.ModelMultipleChoiceField):
    """Several steps of a programme, by their titles."""

    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, obj: Any) -> str:
        return obj.title if obj.is_active else f"{obj.title} (stopped)"


class StepForm(PlainForm):
    """The boxes of a step. They have the names of its facts, and so a refusal of a fact is said at its box."""

    kind = forms.ChoiceField(label="What kind of step it is", choices=StepKind.choices, widget=forms.RadioSelect)
    title = forms.CharField(max_length=100, label="What it is called")
    times = NumberField(label="How many times", low=1, high=MOST_TIMES, whole=True, required=False)
    sheet = forms.ChoiceField(
        required=False,
        label="Hazard sheet",
        help_text="The one that is read; of any other step, the one that goes with it.",
    )
    why = forms.CharField(max_length=500, required=False, label="Why it matters", widget=forms.Textarea({"rows": 3}))
    how = forms.CharField(
        max_length=3000, required=False, label="How it is done", widget=_LINES, help_text="A move a line."
    )
    goes_wrong = forms.CharField(
        max_length=1000,
        required=False,
        label="What goes wrong",
        widget=forms.Textarea({"rows": 4}),
        help_text="A point a line.",
    )
    source = forms.CharField(
        max_length=200,
        required=False,
        label="Where this is from",
        help_text="A rule or a sheet, if there is one; else what it rests on, such as “common practice, no source”.",
    )
    needs = StepsChoice(Step.objects.none(), required=False, label="Which steps come first")
    day = NumberField(
        label="Expected by day",
        low=1,
        high=LAST_DAY,
        whole=True,
        required=False,
        help_text="Counted from the first day of the programme, weekends too: day 8 begins the second week.",
    )
    refresh_months = NumberField(
        label="Comes round again after",
        low=1,
        high=MOST_MONTHS,
        whole=True,
        required=False,
        unit="months",
        help_text="Empty for never.",
    )
    act = forms.ModelChoiceField(
        Act.objects.none(),
        required=False,
        label="The act it leads to",
        empty_label="None",
        help_text="Whoever is to be trusted with it has done this step and everything that comes before it.",
    )

    programme: Programme

    def set_choices(self, programme: Programme, step: Step | None = None) -> None:
        """Let be chosen what there is: steps of the programme, sheets and acts."""
        self.programme = programme
        fields: Any = self.fields
        kept = [one.pk for one in step.needs.all()] if step is not None else []
        before = programme.steps.filter(is_active=True) | programme.steps.filter(pk__in=kept)
        fields["needs"].queryset = before.exclude(pk=step.pk) if step is not None else before
        if not fields["needs"].queryset.exists():
            del self.fields["needs"]
        elif step is not None and kept:
            now = ", ".join(f"“{one.title}”" for one in step.needs.all())
            fields["needs"].hint_before = f"As it stands: {now}."
        there = {slug: one.title for slug, one in sheets.all_sheets().items()}
        if step is not None and step.sheet and step.sheet not in there:
            there[step.sheet] = step.sheet
        fields["sheet"].choices = [("", "None"), *there.items()]
        acts = Act.objects.filter(is_active=True)
        fields["act"].queryset = acts | Act.objects.filter(pk=step.act_id) if step is not None and step.act_id else acts

    def facts(self) -> Facts:
        said = self.cleaned_data
        named = (name for name in Facts.__dataclass_fields__ if name in said)
        return Facts(**({name: said[name] for name in named} | {"needs": tuple(said.get("needs", ()))}))


class AddStepForm(PressForm, StepForm):
    after = StepChoice(Step.objects.none(), required=False, label="Where it stands", empty_label="At the end")

    def __init__(self, *args: Any, programme: Programme, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.set_choices(programme)
        listed: Any = self.fields["after"]
        listed.queryset = programme.steps.filter(is_active=True)
        listed.label_from_instance = lambda step: f"Behind “{step.title}”"
        if not listed.queryset.exists():
            del self.fields["after"]

    def typed(self) -> dict[str, Any]:
        return {"facts": self.facts(), "after": self.cleaned_data.get("after")}


class ChangeStepForm(ChangeForm, StepForm):
    changed_refreshes = forms.BooleanField(
        required=False, label="Whoever did it before a change of substance is asked again"
    )
    substance = forms.BooleanField(
        required=False, label="This is a change of substance: something else is asked than before"
    )
    note = forms.CharField(
        max_length=300,
        required=False,
        label="What changed, for those who did it before",
        help_text="What is on record stays as it was signed, with the words of then.",
    )

    def __init__(self, *args: Any, row: Step, **kwargs: Any) -> None:
        prefetch_related_objects([row], "needs")
        super().__init__(*args, row=row, **kwargs)
        self.set_choices(row.programme, row)

    def kept(self, row: Step) -> dict[str, Any]:
        told = super().kept(row) | {"needs": [one.pk for one in row.needs.all()]}
        return {name: value for name, value in told.items() if name not in ("substance", "note")}

    def _said(self, name: str, value: Any) -> str:
        if name == "needs":
            return ", ".join(self.saved.needs.values_list("title", flat=True)) or "–"
        return super()._said(name, value)

    def typed(self) -> dict[str, Any]:
        said = self.cleaned_data
        return {"facts": self.facts(), **{name: said[name] for name in ("version", "substance", "note")}}


class MoveStepForm(ChangeForm):
    after = StepChoice(Step.objects.none(), required=False, label="Where it stands", empty_label="First of all")

    def __init__(self, *args: Any, row: Step, **kwargs: Any) -> None:
        super().__init__(*args, row=row, **kwargs)
        others = list(row.programme.steps.filter(is_active=True).exclude(pk=row.pk))
        listed: Any = self.fields["after"]
        listed.queryset = row.programme.steps.exclude(pk=row.pk)
        listed.choices = [("", "First of all"), *((one.pk, f"Behind “{one.title}”") for one in others)]
        before = [one for one in others if one.order < row.order]
        listed.initial = before[-1].pk if before else ""


class StopStepForm(ChangeForm):
    why = forms.CharField(max_length=150, label="Why", error_messages={"required": "Say why; it is kept."})

    def kept(self, row: Step) -> dict[str, Any]:
        return {"version": row.version}  # its own “why” says why it matters, not why it stops


class ResumeStepForm(ChangeForm):
    pass


# Questions ------------------------------------------------------------------------------------------------------------

_CHOICES = [f"choice{number}" for number in range(1, CHOICES[1] + 1)]


class ChangeQuestionsForm(RowForm, ChangeForm):
    """A row for each question: its text, its choices, which of them is right, and the reason told after each answer."""

    substance = forms.BooleanField(required=False, label="Those I reworded are asked anew, as a change of substance")
    note = forms.CharField(max_length=300, required=False, label="What changed, for those who answered before")
    #: Where the action's refusals about the questions as a whole land.
    questions = forms.Field(required=False, widget=forms.HiddenInput)

    not_typed = ("rows", "questions")
    stem = "q"
    row_name = "Question"
    most_rows = MOST_QUESTIONS

    def __init__(self, data: Any = None, *, person: Person, row: Step, **rest: Any) -> None:
        asked = list(row.questions.filter(is_active=True))
        first = {self.box(place, name): said for place, one in enumerate(asked) for name, said in _typed(one).items()}
        super().__init__(data, person=person, row=row, rows=max(len(asked), 2), initial=first, **rest)

    def kept(self, row: Step) -> dict[str, Any]:
        return {"version": row.version}

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        least = CHOICES[0]
        choices = {
            name: forms.CharField(
                label=f"Choice {number}" + ("" if number <= least else ", if there is one"),
                max_length=200,
                required=False,
            )
            for number, name in enumerate(_CHOICES, 1)
        }
        return {
            "kept": forms.IntegerField(required=False, widget=forms.HiddenInput),
            "text": forms.CharField(
                label="Question", max_length=300, required=False, widget=forms.Textarea({"rows": 2})
            ),
            **choices,
            "right": forms.TypedChoiceField(
                label="The right one",
                choices=[("", "Choose"), *((number, f"Choice {number}") for number in range(1, len(_CHOICES) + 1))],
                coerce=int,
                empty_value=None,
                required=False,
            ),
            "reason": forms.CharField(
                label="The reason, told after each answer",
                max_length=500,
                required=False,
                widget=forms.Textarea({"rows": 2}),
            ),
        }

    @property
    def question_rows(self) -> list[dict[str, Any]]:
        """Each row for the page."""
        found = []
        for place in range(self.row_count):
            boxes = self.row_boxes(place)
            found.append(boxes | {"number": place + 1, "choices": [boxes[name] for name in _CHOICES]})
        return found

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        self.places = []
        self.wanted = []
        for place in range(self.row_count):
            row = self.row_said(place)
            if not any(row.get(name) for name in ("text", "reason", *_CHOICES)):
                continue
            self.places.append(place)
            right = row.get("right")
            self.wanted.append(
                WantedQuestion(
                    text=row.get("text", ""),
                    choices=tuple(row.get(name, "") for name in _CHOICES),
                    right=right - 1 if right else None,
                    reason=row.get("reason", ""),
                    kept=row.get("kept"),
                )
            )
        return said

    def typed(self) -> dict[str, Any]:
        said: Mapping[str, Any] = self.cleaned_data
        told = {name: said[name] for name in ("version", "substance", "note")}
        return {"questions": tuple(self.wanted), **told}


def _typed(one: Question) -> dict[str, Any]:
    choices = dict(zip(_CHOICES, one.choices, strict=False))
    return {"kept": one.pk, "text": one.text, **choices, "right": one.right + 1, "reason": one.reason}
