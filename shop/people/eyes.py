"""Asking under whose eye something is done by who may not do it alone."""

from typing import Any

from django import forms

from shop import clock
from shop.people.authority import act_words, holding, holds, is_kept
from shop.people.models import HANDS, Person


def eye_field(act: str, person: Person) -> forms.ModelChoiceField:
    """Who watched: the box for `under`, with those who hold the authority to choose from."""
    alone = holds(person, act, clock.today())
    others = Person.objects.filter(is_active=True, role__in=HANDS).exclude(pk=person.pk)
    able = [other.pk for other in holding(others, act, clock.today())]
    field = forms.ModelChoiceField(
        others.filter(pk__in=able),
        label="Under whose eye",
        required=False,
        empty_label="Nobody's: done alone" if alone else "Choose who watches",
        help_text="" if alone else f"You need somebody with the authority “{act_words(act)}” beside you.",
    )
    if not alone and not able:
        field.help_text = f"Nobody else has the authority “{act_words(act)}” now, so nobody can watch: ask the owner."
    #: Not "if you like" where it takes one; the action says so itself if nobody is named.
    field.is_instead = not alone  # type: ignore[attr-defined]
    return field


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
