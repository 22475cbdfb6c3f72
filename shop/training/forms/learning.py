"""Forms of going through a programme: enrolling, ending that, answering."""

import random
from typing import Any

from django import forms

from shop import clock
from shop.people.models import HANDS, Person
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, NumberField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.training.forms.editions import EditionForm
from shop.training.models import Programme, Question
from shop.training.wording import QUESTION_CHANGED


def _hands() -> Any:
    return Person.objects.filter(is_active=True, role__in=HANDS).order_by("name", "pk")


class _Along(PlainForm):
    mentor = forms.ModelChoiceField(
        Person.objects.none(),
        label="With whom",
        required=False,
        empty_label="Nobody named",
        help_text="Whom they turn to first.",
    )
    starts_on = DayField(label="First day", help_text="What is expected by when is counted from it.")


class EnrolForm(PressForm, _Along):
    person = forms.ModelChoiceField(Person.objects.none(), label="Who", empty_label="Choose")
    programme = forms.ModelChoiceField(Programme.objects.none(), label="Programme", empty_label=None)

    field_order = ("once", "person", "programme", "mentor", "starts_on")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = _hands()  # type: ignore[attr-defined]
        self.fields["mentor"].queryset = _hands()  # type: ignore[attr-defined]
        self.fields["programme"].queryset = Programme.objects.filter(is_active=True)  # type: ignore[attr-defined]
        self.fields["starts_on"].initial = clock.today


class ChangeEnrolmentForm(ChangeForm, _Along):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["mentor"].queryset = _hands().exclude(pk=self.row.person_id)  # type: ignore[attr-defined]


class EndEnrolmentForm(ChangeForm):
    why = forms.CharField(
        max_length=300,
        label="Why",
        help_text="Such as: gone through; left; goes on with another.",
        error_messages={"required": "Say why; it is kept."},
    )


class SeeChangesForm(PressForm):
    """A press with nothing to type."""


class ReadAgainForm(PressForm):
    """A press with nothing to type."""


class AnswerQuestionForm(EditionForm):
    """One question and its choices, which stand in another order each time it comes round.

    Where the question was changed meanwhile, it is shown as it is now with nothing chosen.
    """

    chosen = forms.TypedChoiceField(label="", coerce=int, widget=forms.RadioSelect)

    def __init__(self, *args: Any, question: Question, asked: int, **kwargs: Any) -> None:
        self.asked = asked
        super().__init__(*args, row=question, **kwargs)

    def show(self, row: Any) -> None:
        super().show(row)
        self.fields["chosen"].label = row.text
        choices = list(enumerate(row.choices))
        # so that it is the answer that is remembered, not its place; the same while the page is open
        random.Random(f"{row.pk}:{self.person.pk}:{self.asked}").shuffle(choices)
        self.fields["chosen"].choices = choices  # type: ignore[attr-defined]

    def look_at(self, now: Any) -> None:
        super().look_at(now)
        if self.errors.pop("chosen", None):  # one of the choices from before, which is not there any more
            self.add_error(None, QUESTION_CHANGED)
        again: Any = self.data
        again.pop(self.add_prefix("chosen"), None)


class ChangeTrainingRulesForm(ChangeForm):
    keep_years = NumberField(
        label="Training records are kept for",
        low=1,
        high=60,
        whole=True,
        unit="years",
        help_text="After the last line in the record of somebody who has left. Your own figure: ask what the law, the "
        "insurer and the fire authority want here.",
    )
