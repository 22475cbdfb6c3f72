"""Forms with any number of alike rows, which need no script: a button sends them back with two rows more."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop.press.forms import PressForm


class RowForm(PressForm):
    """A press form with rows of boxes named "r0_item", or by another `stem`; what a subclass makes of them it says in
    `typed`.

    A view that sees `more` among what was sent gives it as such instead of as data: then the form is a fresh one with
    two more rows that keeps what was typed and isn't judged yet. draft.js asks for as many rows as it kept, in the
    address: that is `query`. An action's refusal of "lines.2.item" is said at the
    box of the third row that was not left empty.
    """

    rows = forms.IntegerField(widget=forms.HiddenInput, required=False)

    not_typed: tuple[str, ...] = ("rows",)
    stem = "r"
    #: What a row is called, as in "Line 2": said with its boxes where they are named away from it.
    row_name = "Line"
    most_rows = 24

    def __init__(
        self,
        data: Any = None,
        *,
        person: Any,
        rows: int = 2,
        more: Mapping[str, Any] | None = None,
        query: Mapping[str, Any] | None = None,
        **rest: Any,
    ) -> None:
        super().__init__(data, person=person, **rest)
        typed = str((data or more or query or {}).get("rows", ""))
        rows = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 4 else rows
        #: Whether it holds what was just typed: then a draft kept before is older.
        self.is_latest = bool(data or more)
        self.row_count = max(1, min(rows + (2 if more else 0), self.most_rows))
        self.fields["rows"].initial = self.row_count
        self.initial = {**self.initial, "rows": self.row_count}
        #: Which rows were not left empty, in order; set in `typed`.
        self.places: list[int] = []
        for place in range(self.row_count):
            for name, field in self.row_fields(place).items():
                if hasattr(field, "speak_to"):
                    field.speak_to(person)
                self.fields[self.box(place, name)] = field
        self.fields |= self.further_fields(data or more or {})
        if more:
            self.initial = {**self.initial, **self._typed_so_far(more)}

    def _typed_so_far(self, more: Mapping[str, Any]) -> dict[str, Any]:
        """What stands in each box; of a tick, or of several to choose among, also that none is set."""
        left = ("rows", "once", "sure")
        widgets = {name: field.widget for name, field in self.fields.items() if name not in left}
        return {
            name: widget.value_from_datadict(more, {}, name)
            for name, widget in widgets.items()
            if not widget.value_omitted_from_data(more, {}, name)
        }

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        """The boxes of one row, by name."""
        raise NotImplementedError

    def further_fields(self, sent: Mapping[str, Any]) -> dict[str, forms.Field]:
        """Boxes whose number follows that of the rows, by their names in the form. sent: what came, if anything."""
        return {}

    def box(self, place: int, name: str) -> str:
        """What a box of a row is called in the form."""
        return f"{self.stem}{place}_{name}"

    def row_named(self, place: int) -> str:
        """What one row is called."""
        return f"{self.row_name} {place + 1}"

    def row_of(self, name: str) -> str:
        """What the row of a box is called; "" for one that is in no row."""
        number = name.removeprefix(self.stem).partition("_")[0]
        is_there = name.startswith(self.stem) and number.isdigit() and name in self.fields
        return self.row_named(int(number)) if is_there else ""

    def row_boxes(self, place: int) -> dict[str, BoundField]:
        """The boxes of one row as the page draws them."""
        stem = self.box(place, "")
        return {name.removeprefix(stem): self[name] for name in self.fields if name.startswith(stem)}

    def row_said(self, place: int) -> dict[str, Any]:
        """What was typed in one row, cleaned."""
        stem = self.box(place, "")
        return {name.removeprefix(stem): value for name, value in self.cleaned_data.items() if name.startswith(stem)}

    def typed(self) -> dict[str, Any]:
        stems = tuple(self.box(place, "") for place in range(self.row_count))
        return {name: value for name, value in super().typed().items() if not name.startswith(stems)}

    def field_of(self, name: str | None) -> str | None:
        _, _, rest = (name or "").partition(".")
        number, _, box = rest.partition(".")
        if box and number.isdigit() and int(number) < len(self.places):
            name = self.box(self.places[int(number)], box)
        return super().field_of(name)
