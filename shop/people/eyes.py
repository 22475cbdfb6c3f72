"""Asking under whose eye something is done by who may not do it alone."""

from typing import Any

from django import forms

from shop import clock
from shop.people.authority import act_words, holds, is_kept
from shop.people.models import HANDS, Person


def eye_field(act: str, person: Person) -> forms.ModelChoiceField:
    """Who watched: the box for `under`."""
    alone = holds(person, act, clock.today())
    others = Person.objects.filter(is_active=True, role__in=HANDS).exclude(pk=person.pk)
    return forms.ModelChoiceField(
        others,
        label="Under whose eye",
        required=False,
        empty_label="Nobody's: done alone" if alone else "Choose who watches",
        help_text="" if alone else f"You need somebody with the authority to {act_words(act)} beside you.",
    )


class UnderEye:
    """Beside PressForm, first of a form's bases: asks who watches where the person does not hold the authority."""

    #: The act that the form's action is dressed with.
    act = ""
    person: Any
    fields: dict[str, forms.Field]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_kept(self.act) and not holds(self.person, self.act, clock.today()):
            self.fields["under"] = eye_field(self.act, self.person)
