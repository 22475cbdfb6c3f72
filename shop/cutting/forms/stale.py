"""Forms that change a row: they carry the version they were opened at, and show both when it is stale."""

from typing import Any, TypeVar

from django import forms
from django.db import models

from shop.press.forms import PressForm

R = TypeVar("R")


class ChangeForm(PressForm):
    """A form that changes `row`. After a press that found it changed in between, `saved` is the row as it stands now.

    The version sent along is then that one's: pressing again saves over it, knowingly.
    """

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, person: Any, row: models.Model, **rest: Any) -> None:
        self.row = row
        self.saved: models.Model | None = None
        super().__init__(data, person=person, **rest)
        self.fields["version"].initial = row.version  # type: ignore[attr-defined]

    def press(self, act: Any, *, by: Any, **given: Any) -> Any:
        done = super().press(act, by=by, **given)
        if done is None and self.is_bound:
            now = type(self.row)._default_manager.filter(pk=self.row.pk).first()
            if now is not None and self.data.get("version", "").isdigit() and int(self.data["version"]) != now.version:  # type: ignore[attr-defined]
                self.saved = now
                self.data = self.data.copy()
                self.data["version"] = str(now.version)  # type: ignore[attr-defined]
        return done

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        """What is saved now, as (label, value) of the form's fields that the row has."""
        if self.saved is None:
            return []
        found = []
        for name, field in self.fields.items():
            if name in ("version", "once", "sure") or not hasattr(self.saved, name):
                continue
            told = getattr(self.saved, f"get_{name}_display", None)
            value = told() if told else getattr(self.saved, name)
            found.append((str(field.label), {True: "yes", False: "no", "": "–", None: "–"}.get(value, str(value))))
        return found
