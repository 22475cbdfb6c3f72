"""The form of what is signed or answered as it is worded: it carries the edition that the page shows."""

from typing import Any

from django import forms
from django.http import QueryDict

from shop.press.forms import PressForm
from shop.training.models import Question, Step

_LOST = dict.fromkeys(("required", "invalid", "min_value"), "The page lost track of what it showed. Open it afresh.")


class EditionForm(PressForm):
    """A form about a step or a question, `shows`, of which the action takes the edition.

    Where that changed while it stood on the page, the action refuses (Changed). Then `is_changed`, `shows` is the row
    as it is now, and the form carries its edition, so that the next press is about what is read there.
    """

    edition = forms.IntegerField(widget=forms.HiddenInput, min_value=0, error_messages=_LOST)

    def __init__(self, *args: Any, shows: Step | Question, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.is_changed = False
        self.show(shows)

    def show(self, row: Step | Question) -> None:
        """Let the form be about the row as it is now."""
        self.shows: Any = row
        self.fields["edition"].initial = row.edition

    def press(self, act: Any, /, *, by: Any, **given: Any) -> Any:
        done = super().press(act, by=by, **given)
        if done is None:
            self._look_again()
        return done

    def _look_again(self) -> None:
        now = type(self.shows)._default_manager.get(pk=self.shows.pk)
        typed = self.cleaned_data.get("edition")
        if typed is None or typed == now.edition:
            return
        self.is_changed = True
        again = QueryDict(mutable=True)
        again.update(self.data)
        again[self.add_prefix("edition")] = str(now.edition)
        self.data = again
        self.show(now)
