from typing import Any

from django import forms

from shop.people.models import HANDS, Person
from shop.press.changing import ChangeForm
from shop.press.fields import MomentField, NumberField
from shop.press.forms import PressForm
from shop.watch.line import wishes_of
from shop.watch.topics import TOPICS


def _word(label: str, *, required: bool = False) -> forms.CharField:
    return forms.CharField(label=label, max_length=300, required=required)


class TakeAlertForm(PressForm):
    note = _word("A word")


class GiveBackAlertForm(PressForm):
    note = _word("Why", required=True)


class SnoozeAlertForm(PressForm):
    until = MomentField(label="Until", required=True)
    note = _word("Why")


class SettleAlertForm(PressForm):
    word = _word("What was done, or why nothing is to be done", required=True)


def _minutes(label: str, hint: str, low: int, high: int) -> NumberField:
    return NumberField(label=label, help_text=hint, low=low, high=high, whole=True, unit="min")


class ChangeWatchRulesForm(ChangeForm):
    settle_minutes = _minutes(
        "How long a worry must stay away before its alert ends",
        "So that a value on the edge does not come and go.",
        0,
        1440,
    )
    hold_minutes = _minutes("How long a hold waits for somebody", "Then it goes to the next in line.", 5, 1440)
    care_minutes = _minutes("How long a care waits for somebody", "Then it goes to the next in line.", 5, 10_080)
    snooze_hours = NumberField(
        label="How long a hold may be snoozed at most", low=1, high=24, whole=True, unit="h", help_text="1 to 24 hours."
    )


class SetLineForm(PressForm):
    """One choice for each place in line; as many places as there are people."""

    not_typed = ()

    def __init__(self, data: Any = None, *, person: Person, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        people = Person.objects.filter(is_active=True, role__in=HANDS).order_by("name")
        standing = list(people.filter(wishes__turn__isnull=False).order_by("wishes__turn"))
        for place in range(1, people.count() + 1):
            self.fields[f"place_{place}"] = forms.ModelChoiceField(
                people,
                label=f"Place {place}",
                required=False,
                empty_label="nobody",
                initial=standing[place - 1] if place <= len(standing) else None,
            )

    def typed(self) -> dict[str, Any]:
        return {"people": [row for name, row in self.cleaned_data.items() if name.startswith("place_") and row]}

    def field_of(self, name: str | None) -> str | None:
        return "place_1" if name == "people" and "place_1" in self.fields else super().field_of(name)


class ClockField(forms.TimeField):
    """A time of the room's wall clock."""

    widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")

    def __init__(self, **rest: Any) -> None:
        super().__init__(input_formats=["%H:%M", "%H:%M:%S", "%H.%M"], **rest)
        self.error_messages["invalid"] = "That is not a time. Write it as 07:30."


class ChangeWishesForm(ChangeForm):
    morning_mail = forms.BooleanField(label="One mail in the morning, with all there is to know", required=False)
    mail_at = ClockField(label="When it comes", help_text="On the room's clock. No mail comes with nothing new in it.")
    at_once = forms.BooleanField(label="A mail at once when the room should hold", required=False)
    quiet_from = ClockField(label="Nothing is sent from", help_text="What comes up then is noticed, and sent after.")
    quiet_to = ClockField(label="until", help_text="The same time twice means no quiet hours.")
    muted = forms.MultipleChoiceField(
        label="Leave out of my mail",
        choices=list(TOPICS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="What is graded hold comes all the same.",
    )

    def __init__(self, data: Any = None, *, person: Person, **rest: Any) -> None:
        super().__init__(data, person=person, row=wishes_of(person), **rest)


class RenewFeedForm(PressForm):
    pass


class CloseFeedForm(PressForm):
    pass
