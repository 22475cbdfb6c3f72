"""The lists on the wall, each as a form of rows. A row without what it cannot do without is left out."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.db import models
from django.http import QueryDict

from shop.people.models import Person
from shop.press.rows import RowForm
from shop.safety.actions.wall import (
    MOST_EXTINGUISHERS,
    MOST_NUMBERS,
    MOST_SHUT_OFFS,
    Wanted,
    WantedExtinguisher,
    WantedNumber,
    WantedShutOff,
    list_digest,
)
from shop.safety.models import CallNumber, Extinguisher, ShutOff


def _column(model: type[models.Model], name: str) -> Any:
    return model._meta.get_field(name)


class WallForm(RowForm):
    """A list as it stands. wanted: what a row is made into; boxes: label and hint of each box of a row."""

    model: type[models.Model]
    wanted: type[Wanted]
    boxes: ClassVar[Mapping[str, tuple[str, str]]]
    #: What the rows of a list that is empty begin with.
    begins: ClassVar[tuple[dict[str, str], ...]] = ()

    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, data: Any = None, *, person: Person, **rest: Any) -> None:
        self.now = list(self.model._default_manager.order_by("order", "pk").values(*self.boxes))
        first = self.now or list(self.begins)
        values = {f"r{place}_{name}": value for place, row in enumerate(first) for name, value in row.items()}
        super().__init__(data, person=person, rows=max(len(first), 1), initial=values, **rest)
        #: What the list is now, where somebody changed it while the form was open.
        self.changed: list[dict[str, str]] | None = None
        self.fields["seen"].initial = list_digest(self.model, self.wanted)
        self.initial["seen"] = self.fields["seen"].initial

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        return {
            name: forms.CharField(
                label=label,
                help_text=hint,
                max_length=_column(self.model, name).max_length,
                required=False,
                widget=forms.TextInput(attrs={"inputmode": "tel"} if name == "number" else {}),
            )
            for name, (label, hint) in self.boxes.items()
        }

    @property
    def line_rows(self) -> list[dict[str, Any]]:
        """Each row for the page."""
        return [{"number": place + 1, "boxes": list(self.row_boxes(place).values())} for place in range(self.row_count)]

    @property
    def counts(self) -> str:
        """The box without which a row is left out."""
        return list(self.boxes)[1]

    @property
    def left_out(self) -> str:
        """Said under the rows."""
        return f"A row is left out where “{self.boxes[self.counts][0]}” is empty."

    def typed(self) -> dict[str, Any]:
        self.places = [place for place in range(self.row_count) if self.row_said(place).get(self.counts)]
        rows = [self.wanted(**self.row_said(place)) for place in self.places]
        return {"rows": rows, "seen": self.cleaned_data["seen"]}

    def press(self, act: Any, /, *, by: Any, **given: Any) -> Any:
        done = super().press(act, by=by, **given)
        if done is None and self.cleaned_data.get("seen") != self.initial["seen"]:
            self.changed = self.now
            again = QueryDict(mutable=True)
            again.update(self.data)
            again["seen"] = self.initial["seen"]
            self.data = again
        return done


class KeepCallNumbersForm(WallForm):
    model, wanted, most_rows = CallNumber, WantedNumber, MOST_NUMBERS
    boxes: ClassVar = {
        "name": ("Who", ""),
        "number": ("Number", "As it is dialled here."),
        "when": ("When to call", "A few words; may be left empty."),
    }
    begins: ClassVar = (
        {"name": "Fire service", "when": "Anything burns or smokes"},
        {"name": "Ambulance", "when": "Somebody is hurt or unwell"},
        {"name": "Poison centre", "when": "Swallowed, breathed in, in the eyes"},
        {"name": "Who looks after the building", "when": ""},
    )


class KeepShutOffsForm(WallForm):
    model, wanted, most_rows = ShutOff, WantedShutOff, MOST_SHUT_OFFS
    boxes: ClassVar = {
        "what": ("What", ""),
        "where": ("Where", "So that somebody who was never here finds it."),
        "how": ("How", "Which way it turns, what it takes."),
    }
    begins: ClassVar = (
        {"what": "Mains electricity"},
        {"what": "Nitrogen"},
        {"what": "Vacuum pump"},
        {"what": "Heating current of the stylus"},
    )


class KeepExtinguishersForm(WallForm):
    model, wanted, most_rows = Extinguisher, WantedExtinguisher, MOST_EXTINGUISHERS
    boxes: ClassVar = {
        "kind": ("What", "Extinguisher, blanket, bucket: what is in it."),
        "where": ("Where it is", ""),
        "use_on": ("For", "What its own label says."),
        "never_on": ("Never on", "What its own label says it must not be used on."),
    }
