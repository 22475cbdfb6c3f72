"""Forms that change a row: they carry the version they were opened at, and show both when it is stale."""

from typing import Any

from django import forms
from django.http import QueryDict

from shop.press.forms import PressForm

_PLAIN = {True: "yes", False: "no", None: "–", "": "–"}


class ChangeForm(PressForm):
    """A form that changes `row`, which has a `version`.

    After a press that found it changed in between, `saved` is the row as it stands now, to be shown beside what was
    typed; the version sent along is then that one's, so that pressing again saves over it, knowingly.
    """

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, person: Any, row: Any, **rest: Any) -> None:
        self.row = row
        self.saved: Any = None
        super().__init__(data, person=person, **rest)
        self.fields["version"].initial = row.version

    def press(self, act: Any, *, by: Any, **given: Any) -> Any:
        done = super().press(act, by=by, **given)
        if done is None:
            self._look_again()
        return done

    def _look_again(self) -> None:
        now: Any = type(self.row)._default_manager.filter(pk=self.row.pk).first()
        typed = self.cleaned_data.get("version")
        if now is None or typed is None or typed == now.version:
            return
        self.saved = now
        again = QueryDict(mutable=True)
        again.update(self.data)
        again["version"] = str(now.version)
        self.data = again

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        """What is saved now, as (label, value) of the form's fields that the row has."""
        if self.saved is None:
            return []
        names = [name for name in self.fields if name not in ("version", "once", "sure") and hasattr(self.saved, name)]
        return [(str(self.fields[name].label), self._said(name)) for name in names]

    def _said(self, name: str) -> str:
        told = getattr(self.saved, f"get_{name}_display", None) or getattr(self.saved, f"{name}_shown", None)
        if told is not None:
            return str(told() if callable(told) else told)
        value = getattr(self.saved, name)
        return _PLAIN[value] if value is None or isinstance(value, bool) or value == "" else str(value)
