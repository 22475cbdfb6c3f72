"""The parts every page is made of: grades, concerns, levels, forms and lists."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from django import forms
from django.template import Context, engines
from django.test import Client, RequestFactory

from shop.concern import Concern, Grade
from shop.people.models import Person
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.refusal import Doubt

ClientOf = Callable[[Person], Client]
WORRY = Concern(
    key="stock:low",
    grade=Grade.HOLD,
    subject="Blanks <14>",
    headline="None are free",
    reason="On hand 2, claimed 3.",
    what_to_do="Order some.",
    link="/stock/",
    by=datetime(2025, 6, 3, 7, 30, tzinfo=UTC),
)


def rendered(text: str, **context: Any) -> str:
    return engines["django"].from_string(text).template.render(Context(context))


@pytest.mark.parametrize("grade", list(Grade))
def test_a_grade_has_its_word_and_a_shape_of_its_own(grade: Grade) -> None:
    text = rendered("{% grade g %}", g=int(grade))
    assert f"<b>{grade.word}</b>" in text
    others = [rendered("{% grade g %}", g=g) for g in Grade if g != grade]
    shape = text.split("<svg")[1].split("</svg>")[0]
    assert all(shape not in other for other in others)


@pytest.mark.parametrize(("verdict", "words"), [("clear", "Clear to cut"), ("care", "Cut with care"), ("hold", "Hold")])
def test_a_verdict_in_words(verdict: str, words: str) -> None:
    assert f"<b>{words}</b>" in rendered("{% verdict v %}", v=verdict)


@pytest.mark.parametrize("given", [WORRY, WORRY.stored()], ids=["live", "stored"])
def test_a_concern_whole(given: Any) -> None:
    text = rendered("{% concern c %}", c=given)
    assert "<b>hold</b>" in text
    assert "Blanks &lt;14&gt;" in text
    assert "<h3>None are free</h3>" in text
    assert "On hand 2, claimed 3." in text
    assert '<a href="/stock/">Order some.</a>' in text
    assert "by 3 Jun, 07:30" in text


def test_a_concern_without_a_link_or_a_time() -> None:
    text = rendered("{% concern c 2 %}", c=WORRY.stored() | {"link": "", "by": None})
    assert "<h2>None are free</h2>" in text
    assert "<a " not in text
    assert "concern-by" not in text


@pytest.mark.parametrize(("share", "width"), [(0.4, "40.0"), (0, "0.0"), (1.7, "100.0"), (-1, "0.0")])
def test_a_level_is_drawn_within_its_bounds(share: float, width: str) -> None:
    text = rendered("{% level s words %}", s=share, words="words <here>")
    assert f'class="level-is" width="{width}"' in text
    assert "words &lt;here&gt;" in text


def test_a_level_under_its_mark_looks_low() -> None:
    assert "level-low" in rendered("{% level s 'x' mark=0.2 %}", s=0.1)
    assert "level-low" not in rendered("{% level s 'x' mark=0.2 %}", s=0.3)


def test_an_unknown_level_is_words_only() -> None:
    assert "<svg" not in rendered("{% level s 'not read yet' %}", s=None)


class GaugeForm(PressForm):
    gauge = NumberField(label="Gauge", unit="bar", low=0, help_text="At the cylinder.")
    size = forms.ChoiceField(label="Size", choices=[("12", "12 inch"), ("7", "7 inch")], widget=forms.RadioSelect)
    clean = forms.BooleanField(label="Wiped", required=False)
    fieldsets = (("Readings", ("gauge",)),)


def drawn(form: PressForm) -> str:
    """The form as a page shows it: base.html puts the summary of errors above the page's own content."""
    page = '{% extends "base.html" %}{% block main %}{% include "parts/form.html" with submit="Keep" %}{% endblock %}'
    return engines["django"].from_string(page).render({"form": form}, RequestFactory().get("/room/"))


def test_a_form_says_unit_and_hints_of_each_box(assistant: Person) -> None:
    form = GaugeForm(person=assistant)
    form.fields["gauge"].hint_before = "Yesterday: 132 bar"
    text = drawn(form)
    assert 'inputmode="decimal"' in text
    assert 'aria-describedby="id_gauge_hint id_gauge_before"' in text
    assert 'id="id_gauge_before">Yesterday: 132 bar<' in text
    assert '<span class="unit" aria-hidden="true">bar</span>' in text
    assert ", in bar</span>" in text  # in the label, for who does not see the box
    assert "<legend>Readings</legend>" in text
    assert text.count('name="once"') == 1
    assert text.count('type="radio"') == 2
    assert '<button class="button" type="submit">Keep</button>' in text


def test_a_refused_form_links_to_each_field_in_its_own_words(assistant: Person) -> None:
    text = drawn(GaugeForm({"gauge": "12,5x7", "clean": "on"}, person=assistant))
    assert 'value="12,5x7"' in text
    assert 'href="#id_gauge"' in text
    assert 'href="#id_size_0"' in text
    assert 'id="id_size_0"' in text
    assert 'aria-invalid="true"' in text
    assert "checked" in text
    sentence = text.split('id="id_gauge_error">')[1].split("</p>")[0]
    assert text.count(sentence) == 2  # at the field and in the summary


def test_a_doubt_is_asked_with_a_tick_and_earlier_ones_are_sent_along(assistant: Person) -> None:
    form = GaugeForm({"gauge": "150", "size": "12", "sure": ["before"]}, person=assistant)
    form.data = _many({"gauge": ["150"], "size": ["12"], "sure": ["before"]})
    assert form.is_valid()
    form.doubts = (
        Doubt("gauge:rose", "gauge", "The gauge rose."),
        Doubt("late", "elsewhere", "That was long ago."),
    )
    form.add_error("gauge", "The gauge rose.")
    form.add_error(None, "That was long ago.")
    text = drawn(form)
    assert '<h2 id="errors-title">Look again</h2>' in text
    assert '<input type="hidden" name="sure" value="before">' in text
    assert '<input type="checkbox" name="sure" value="gauge:rose">' in text
    assert '<input type="checkbox" name="sure" value="late">' in text


def _many(values: dict[str, list[str]]) -> Any:
    from django.http import QueryDict

    data = QueryDict(mutable=True)
    for name, given in values.items():
        data.setlist(name, given)
    return data


def test_every_page_has_its_ways_round(assistant: Person, client_of: ClientOf) -> None:
    page = client_of(assistant).get("/people/more/").content.decode()
    assert page.count("<main") == 1
    assert '<a class="skip" href="#main">' in page
    assert 'aria-label="Main"' in page
    assert page.count('aria-current="page"') >= 1
    assert "The room</a>" not in page  # an owner's page


def test_a_list_says_how_it_is_sorted(owner: Person, client_of: ClientOf) -> None:
    page = client_of(owner).get("/people/?sort=-role").content.decode()
    assert 'aria-sort="descending"' in page
    assert page.count("aria-sort") == 1
    assert 'data-label="Sign-in name"' in page
