"""Forms that change a row: they carry the version they were opened at, and show both when it is stale."""

from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict

from shop.press.fields import NumberField
from shop.press.forms import PressForm

_PLAIN = {True: "yes", False: "no", None: "–", "": "–"}


def as_read_field() -> forms.IntegerField:
    """The hidden box with the version or edition of what stood on the page when it was opened."""
    lost = "The page lost track of what it showed. Open it afresh."
    return forms.IntegerField(
        widget=forms.HiddenInput, min_value=0, error_messages=dict.fromkeys(("required", "invalid", "min_value"), lost)
    )


class AsReadForm(PressForm):
    """A form about `row` that carries, in the box that `as_read` names, the row's number of that name as it was read.

    The action refuses where that is stale. Then `look_at` gets the row as it stands now, and the form sends its number
    along, so that the next press is about what is read there.
    """

    as_read = ""
    row: Any

    def look_at(self, now: Any) -> None:
        """The row was changed while it stood on the page: this is how it stands now."""
        raise NotImplementedError

    def press(self, act: Any, /, *, by: Any, **given: Any) -> Any:
        done = super().press(act, by=by, **given)
        if done is None:
            self._look_again()
        return done

    def _look_again(self) -> None:
        now: Any = type(self.row)._default_manager.filter(pk=self.row.pk).first() or self.row
        typed, kept = self.cleaned_data.get(self.as_read), getattr(now, self.as_read)
        if typed is None or typed == kept:
            return
        again = QueryDict(mutable=True)
        again.update(self.data)
        again[self.add_prefix(self.as_read)] = str(kept)
        self.data = again
        self.look_at(now)


class ChangeForm(AsReadForm):
    """A form that changes `row`, which has a `version`; its fields start from the row's of the same names.

    The action raises Changed where the version typed against is stale. Then `saved` is the row as it stands now, which
    templates/parts/errors.html shows above the form with what was typed; the version sent along is then that one's, so
    that pressing again saves over it, knowingly.
    """

    as_read = "version"
    version = as_read_field()

    def __init__(self, data: Any = None, *, person: Any, row: Any, **rest: Any) -> None:
        self.row = row
        self.saved: Any = None
        super().__init__(data, person=person, **rest)

    def look_at(self, now: Any) -> None:
        self.saved = now

    def kept(self, row: Any) -> dict[str, Any]:
        """What `row` holds, by the names of the form's fields. Add what the form says in other terms than the row."""
        return {field.name: field.value_from_object(row) for field in row._meta.concrete_fields}

    def get_initial_for_field(self, field: forms.Field, field_name: str) -> Any:
        kept = self.kept(self.row)
        if field_name in kept and field_name not in self.initial:
            return kept[field_name]
        return super().get_initial_for_field(field, field_name)

    def typed(self) -> dict[str, Any]:
        """What was typed; a box that came back as it was shown keeps its value to the last digit, which the unit it is
        shown in may have rounded away. Not where the form itself says it in other terms than the row."""
        told, kept = super().typed(), self.kept(self.row)
        for name in told.keys() & kept.keys() & self.fields.keys():
            field, value = self.fields[name], kept[name]
            if hasattr(self, f"clean_{name}"):
                continue
            sent = str(self.data.get(self.add_prefix(name), "")).strip()
            if isinstance(field, NumberField) and value is not None and str(field.prepare_value(value)) == sent:
                told[name] = value
        return told

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        """What is saved now where it is not what was typed, as (label, value)."""
        if self.saved is None:
            return []
        kept = self.kept(self.saved)
        return [
            (str(box.label), self._said(box.name, kept[box.name]))
            for box in self.visible_fields()
            if box.name in kept and box.field.has_changed(kept[box.name], box.data)
        ]

    def _said(self, name: str, value: Any) -> str:
        """A saved value in words."""
        told = getattr(self.saved, f"get_{name}_display", None) or getattr(self.saved, f"{name}_shown", None)
        if told is not None:
            return str(told() if callable(told) else told) or "–"
        if value is None or value == "" or isinstance(value, bool):
            return _PLAIN[value]
        field = self.fields[name]
        if isinstance(field, NumberField):
            return field.said(value)
        if isinstance(value, date):
            return f"{value.day} {value:%b %Y}"
        return str(getattr(self.saved, name))
