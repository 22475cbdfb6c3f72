"""Forms in our own words: a sentence for each thing Django would say in its own, and no hidden signs in what is typed.

Hidden signs come along when text is copied. Those that turn the direction of writing can make one name look like
another, and none of them can be seen to be taken out again: so they are left out wherever text comes in.
"""

import re
from typing import Any

from django import forms
from django.http import QueryDict

#: Controls (but tab and line ends), soft hyphens, signs of direction and of no width. Not the joiners U+200C and
#: U+200D, which some scripts are written with.
_HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb]"
)

#: What validators say, where no field has a message of that code.
_OF_VALIDATORS = {
    "max_length": "Keep it to %(limit_value)d characters; these are %(show_value)d.",
    "min_length": "Give at least %(limit_value)d characters; these are %(show_value)d.",
    "min_value": "That is below %(limit_value)s.",
    "max_value": "That is above %(limit_value)s.",
    "null_characters_not_allowed": "There is a sign in it that cannot be kept. Type it again.",
}
_NOT_LISTED = "That is not on the list, or not any more. Choose again."
#: What fields say of themselves.
_OF_ANY_FIELD = {
    "required": "Fill this in.",
    "invalid": "That cannot be read. Type it again.",
    "invalid_choice": _NOT_LISTED,
    "invalid_list": _NOT_LISTED,
    "invalid_pk_value": _NOT_LISTED,
}
_OF_FILES = {
    "required": "Choose a file.",
    "invalid": "The file did not come along. Choose it again.",
    "missing": "The file did not come along. Choose it again.",
    "empty": "That file is empty.",
    "max_length": "Its name is too long. Give the file a shorter one.",
    "contradiction": "Either choose a file or leave it out, not both.",
}
#: And where a kind of field can say more.
_OF_FIELDS: tuple[tuple[type[forms.Field], dict[str, str]], ...] = (
    (forms.ChoiceField, {"required": "Choose one."}),
    (forms.MultipleChoiceField, {"required": "Choose at least one."}),
    (forms.ModelMultipleChoiceField, {"required": "Choose at least one."}),
    (forms.FileField, _OF_FILES),
    (forms.UUIDField, {"invalid": "The page lost its one-time token. Nothing was saved; press again."}),
    (forms.IntegerField, {"invalid": "Give a whole number."}),
    (forms.DateField, {"invalid": "That is not a day. Write it as 2025-03-31."}),
    (forms.DateTimeField, {"invalid": "That is not a time. Write it as 2025-03-31 14:05."}),
)
_MAIL = "That is not a mail address; one looks like name@example.org."


def visible(text: str) -> str:
    """`text` without hidden signs."""
    return _HIDDEN.sub("", text)


def _as_django_says(field: forms.Field) -> dict[str, Any]:
    """The messages that the field has of Django alone, by code."""
    found: dict[str, Any] = {}
    for kind in reversed(type(field).__mro__):
        if kind.__module__.startswith("django."):
            found |= vars(kind).get("default_error_messages", {})
    return found


def in_our_words(field: forms.Field) -> None:
    """Put our sentence wherever the field would say Django's; what a form words itself stays."""
    for code, sentence in _OF_VALIDATORS.items():
        field.error_messages.setdefault(code, sentence)
    if isinstance(field, forms.EmailField):
        field.error_messages.setdefault("invalid", _MAIL)  # its validator says it
    ours = _OF_ANY_FIELD.copy()
    for kind, sentences in _OF_FIELDS:
        if isinstance(field, kind):
            ours |= sentences
    for code, sentence in _as_django_says(field).items():
        if code in ours and field.error_messages[code] == sentence:
            field.error_messages[code] = ours[code]


class PlainWords:
    """For a form of Django's: its refusals in our words."""

    fields: dict[str, forms.Field]

    def full_clean(self) -> None:
        for field in self.fields.values():
            in_our_words(field)
        super().full_clean()  # type: ignore[misc]


class PlainForm(PlainWords, forms.Form):
    """A form in our words, that takes in no hidden signs, save in passwords: those are compared sign by sign."""

    def __init__(self, data: Any = None, *args: Any, **rest: Any) -> None:
        super().__init__(self._visible(data), *args, **rest)

    @classmethod
    def _visible(cls, data: Any) -> Any:
        secret = {name for name, field in cls.base_fields.items() if isinstance(field.widget, forms.PasswordInput)}
        if not isinstance(data, QueryDict):
            return data
        clean = data.copy()
        for name, values in data.lists():
            if name not in secret:
                clean.setlist(name, [visible(value) if isinstance(value, str) else value for value in values])
        return clean
