"""Every form speaks in our words, and takes in nothing that cannot be seen."""

from copy import deepcopy
from typing import Any
from uuid import uuid4

import django_filters as filters
import pytest
from django import forms
from django.http import QueryDict
from django.test import Client
from django.urls import get_resolver

from shop.people.models import Person
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.filters import PlainFilter
from shop.press.plain import PlainForm, PlainWords, in_our_words, visible
from shop.refusal import Refused
from shop.stock.models import Supplier
from tests.stock.makers import make_supplier

#: Reached by no field of ours: files, and a list where a value was expected.
_NOT_REACHED = {"missing", "empty", "contradiction", "invalid_image", "overflow"}


def below(kind: type) -> set[type]:
    """All classes that are one, the project's and Django's."""
    assert get_resolver().url_patterns  # loads the views, and with them every form
    found = set(kind.__subclasses__())
    return found.union(*(below(one) for one in found))


def ours(kind: type) -> list[type]:
    return sorted((one for one in below(kind) if one.__module__.startswith("shop.")), key=lambda one: one.__qualname__)


def of_django() -> set[str]:
    """Every sentence that a field of Django's has of its own."""
    kinds = {forms.Field, *(one for one in below(forms.Field) if one.__module__.startswith("django."))}
    return {
        str(sentence)
        for kind in kinds
        for code, sentence in vars(kind).get("default_error_messages", {}).items()
        if code not in _NOT_REACHED
    }


def test_every_form_and_filter_is_one_of_ours() -> None:
    assert [one for one in ours(forms.BaseForm) if not issubclass(one, PlainWords)] == []
    assert [one for one in ours(filters.FilterSet) if not issubclass(one, PlainFilter)] == []


@pytest.mark.django_db
def test_a_list_is_narrowed_in_our_words_too(engineer: Person, client_of: Any) -> None:
    for address in ("/checks/?verdict=x", "/room/readings/?kind=x", "/stock/ledger/?kind=x", "/stock/?kind=x"):
        assert "That is not on the list" in client_of(engineer).get(address).content.decode(), address


def test_no_field_says_a_sentence_of_djangos() -> None:
    theirs = of_django()
    assert "This field is required." in theirs
    for form in ours(forms.BaseForm):
        for name, declared in form.base_fields.items():  # type: ignore[attr-defined]
            field = deepcopy(declared)
            in_our_words(field)
            said = {str(text) for code, text in field.error_messages.items() if code not in _NOT_REACHED}
            assert said.isdisjoint(theirs), (form, name)


class Everything(PlainForm):
    number = NumberField()
    word = forms.CharField(max_length=5)
    worded = forms.CharField(error_messages={"required": "Say why."})
    one = forms.ChoiceField(choices=[("a", "A")])
    some = forms.MultipleChoiceField(choices=[("a", "A")])
    row = forms.ModelChoiceField(Supplier.objects.all())
    mail = forms.EmailField()
    whole = forms.IntegerField(min_value=0)
    token = forms.UUIDField()
    day = DayField()
    moment = MomentField()
    secret = forms.CharField(widget=forms.PasswordInput, strip=False)


def said(**typed: Any) -> dict[str, str]:
    data = QueryDict(mutable=True)
    for name, value in typed.items():
        data.setlist(name, value if isinstance(value, list) else [value])
    return {name: " ".join(sentences) for name, sentences in Everything(data).errors.items()}


@pytest.mark.django_db
def test_what_is_left_empty() -> None:
    found = said()
    assert {found[name] for name in ("number", "word", "mail", "whole", "token", "day", "secret")} == {"Fill this in."}
    assert (found["one"], found["row"], found["some"]) == ("Choose one.", "Choose one.", "Choose at least one.")
    assert found["worded"] == "Say why."
    assert "moment" not in found


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("word", "too long", "Keep it to 5 characters; these are 8."),
        ("one", "b", "That is not on the list, or not any more. Choose again."),
        ("some", ["a", "b"], "That is not on the list, or not any more. Choose again."),
        ("row", "77", "That is not on the list, or not any more. Choose again."),
        ("row", "x", "That is not on the list, or not any more. Choose again."),
        ("mail", "nobody", "That is not a mail address; one looks like name@example.org."),
        ("whole", "x", "Give a whole number."),
        ("whole", "-1", "That is below 0."),
        ("token", "x", "The page lost its one-time token. Nothing was saved; press again."),
        ("day", "someday", "That is not a day. Write it as 2025-03-31."),
        ("moment", "now", "That is not a time. Write it as 2025-03-31 14:05."),
    ],
)
def test_what_will_not_do(field: str, typed: str, sentence: str) -> None:
    assert said(**{field: typed})[field] == sentence


# Hidden signs ---------------------------------------------------------------------------------------------------------

HIDDEN = "\u202e\u202a\u202c\u2066\u2069\u200e\u200f\u061c\u200b\ufeff\u00ad\x00\x1b\x9f"


def test_hidden_signs_are_left_out_and_nothing_else() -> None:
    assert visible("".join(f"{sign}a" for sign in HIDDEN)) == "a" * len(HIDDEN)
    kept = "Žofie, 14″ – µ ½ שלום سلام नमस्ते می\u200cخواهم\tone\nline\u00a0more 👩\u200d🔧"
    assert visible(kept) == kept


def test_a_form_takes_in_none_but_in_passwords() -> None:
    form = Everything(QueryDict("word=a%E2%80%AEb&secret=a%E2%80%AEb"))
    form.is_valid()
    assert (form["word"].value(), form.cleaned_data["word"]) == ("ab", "ab")
    assert form.cleaned_data["secret"] == "a\u202eb"


def test_a_name_made_to_look_like_another_is_the_other_one(owner: Person, engineer: Person, client_of: Any) -> None:
    make_supplier(engineer, "Blankworks")
    with pytest.raises(Refused):
        make_supplier(engineer, "Blank\u200bworks")
    client: Client = client_of(owner)
    typed = {
        "once": str(uuid4()),
        "name": "Ilse \u202etdnarB",
        "sign_in": "il\u200ese",
        "role": "assistant",
        "password": "four warm words in wax",
    }
    assert client.post("/people/add/", typed).status_code == 302
    added = Person.objects.get(sign_in="ilse")
    assert added.name == "Ilse tdnarB"


@pytest.mark.parametrize(
    ("unit", "low", "told"), [("days", 1, "below 1 day."), ("days", 2, "below 2 days."), ("g", 1, "below 1 g.")]
)
def test_one_of_a_unit_that_is_counted_loses_its_s(unit: str, low: int, told: str) -> None:
    with pytest.raises(forms.ValidationError) as no:
        NumberField(unit=unit, low=low).clean("0")
    assert told in no.value.messages[0]
