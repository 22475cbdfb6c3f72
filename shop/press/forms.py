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

    #: What stands over its refusals.
    refused = "Not saved"
    #: Names of fields that are not arguments of the action.
    not_typed: tuple[str, ...] = ()

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        self.person = person
        self.doubts: tuple[Doubt, ...] = ()
        #: Where the token was refused: the record that was saved with it before, if that may be told; and the answer's
        #: status.
        self.first: Any = None
        self.token_status: int | None = None
        super().__init__(data, **rest)
        self.fields["once"].initial = uuid4
        for field in self.fields.values():
            if hasattr(field, "speak_to"):
                field.speak_to(person)

    @property
    def token(self) -> str:
        """The token to put in the page: the one that came, while it is well formed and not spent, else a fresh one."""
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

        given: further arguments of the action that were not typed. Over a token that was used with other values, or is
        another's, the form comes back (409) with what was typed and a fresh one: pressing that is a deed of its own.
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
        except NotAllowed:
            raise
        except TokenTrouble as spent:
            self._begin_anew(spent)
        except Doubtful as asked:
            self.doubts = tuple(
                replace(doubt, field=self.field_of(doubt.field) or doubt.field) for doubt in asked.doubts
            )
            for doubt in asked.doubts:
                self.add_error(self.field_of(doubt.field), doubt.sentence)
        except Refused as no:
            self.add_error(self.field_of(no.field), no.sentence)
        return None

    def _begin_anew(self, spent: TokenTrouble) -> None:
        """Take a fresh token in place of the one that came; what was typed stays."""
        self.first, self.refused, self.token_status = spent.first, spent.headline, spent.status
        again = QueryDict(mutable=True)
        again.update(self.data)
        again[self.add_prefix("once")] = str(uuid4())
        self.data = again
        self.add_error(None, spent.sentence)

    def field_of(self, name: str | None) -> str | None:
        """The field at which a refusal of `name` is said; None for the form as a whole."""
        return name if name in self.fields else None

    @property
    def why_not(self) -> str:
        """All that it was refused for, for a page of its own where the form has no boxes."""
        return " ".join(str(sentence) for said in self.errors.values() for sentence in said)

    @property
    def http_status(self) -> int:
        """200 for a fresh form, 422 for one that was refused, 409 where its token was."""
        if self.token_status is not None:
            return self.token_status
        return 422 if self.is_bound and self.errors else 200
