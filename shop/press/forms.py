"""The form that every page that writes is made of."""

from collections.abc import Callable
from dataclasses import replace
from inspect import signature
from typing import Any, TypeVar
from uuid import UUID, uuid4

from django import forms
from django.http import QueryDict

from shop.press.plain import PlainForm
from shop.refusal import Doubt, Doubtful, NotAllowed, Refused, TokenTrouble

R = TypeVar("R")


class PressForm(PlainForm):
    """A form for one action: carries the one-time token, asks again where something looks wrong, keeps what was typed.

    Give it the signed-in `person`, for fields that speak their units. A view builds it, shows it, and calls `press`.
    Templates show it with parts/form.html, which also draws `doubts` as ticks named "sure".
    """

    once = forms.UUIDField(required=False, widget=forms.HiddenInput)
    sure = forms.Field(required=False, widget=forms.MultipleHiddenInput)

    #: Names of fields that are not arguments of the action.
    not_typed: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        self.person = person
        self.doubts: tuple[Doubt, ...] = ()
        super().__init__(data, **rest)
        self.fields["once"].initial = uuid4
        for field in self.fields.values():
            if hasattr(field, "speak_to"):
                field.speak_to(person)

    @property
    def token(self) -> str:
        """The token to put in the page: the one that came, while it is well formed, else a fresh one."""
        came = self.data.get(self.add_prefix("once"), "") if self.is_bound else ""
        try:
            return str(UUID(came))
        except ValueError:
            return str(uuid4())

    @property
    def sure_keys(self) -> list[str]:
        return self.data.getlist(self.add_prefix("sure")) if hasattr(self.data, "getlist") else []

    def typed(self) -> dict[str, Any]:
        """What the action is called with: the cleaned values, by field name."""
        left_out = {"once", "sure", *self.not_typed}
        return {name: value for name, value in self.cleaned_data.items() if name not in left_out}

    def press(self, act: Callable[..., R], /, *, by: Any, **given: Any) -> R | None:
        """Do it. None if the form or the action refused: then the errors and `doubts` say why.

        given: further arguments of the action that were not typed. TokenTrouble over a used token is not caught: it
        is a page of its own (409), for here there is nothing to correct.
        """
        if not self.is_bound:  # a press with nothing in it at all, which no browser of ours sends
            self.is_bound, self.data = True, QueryDict()
        if not self.is_valid():
            return None
        if self.cleaned_data["once"] is None:
            self.add_error(None, "The page lost its one-time token. Nothing was saved; press again.")
            return None
        arguments = {**self.typed(), **given}
        if "sure" in signature(act).parameters:
            arguments["sure"] = self.sure_keys
        try:
            return act(by=by, once=self.cleaned_data["once"], **arguments)
        except (TokenTrouble, NotAllowed):
            raise
        except Doubtful as asked:
            self.doubts = tuple(
                replace(doubt, field=self.field_of(doubt.field) or doubt.field) for doubt in asked.doubts
            )
            for doubt in asked.doubts:
                self.add_error(self.field_of(doubt.field), doubt.sentence)
        except Refused as no:
            self.add_error(self.field_of(no.field), no.sentence)
        return None

    def field_of(self, name: str | None) -> str | None:
        """The field at which a refusal of `name` is said; None for the form as a whole."""
        return name if name in self.fields else None

    @property
    def http_status(self) -> int:
        """200 for a fresh form, 422 for one that was refused."""
        return 422 if self.is_bound and self.errors else 200
