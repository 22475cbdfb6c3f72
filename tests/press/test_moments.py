"""The field of all moments: an hour that the clocks skipped is told, of one that they repeated it is asked which."""

from datetime import UTC, datetime, timedelta

import pytest
from django import forms
from django.http import QueryDict
from django.template.loader import render_to_string

from shop import clock
from shop.press.fields import MomentField
from shop.press.plain import PlainForm


class WhenForm(PlainForm):
    at = MomentField()


def given(**typed: str) -> WhenForm:
    data = QueryDict(mutable=True)
    data.update(typed)
    return WhenForm(data)


def shown(form: forms.Form) -> str:
    return render_to_string("parts/field.html", {"field": form["at"]})


@pytest.fixture(autouse=True)
def _in_london():
    with clock.in_zone("Europe/London"):
        yield


def test_an_hour_that_the_clocks_skipped_is_told():
    form = given(at="2026-03-29T01:30")
    assert form.errors["at"] == [
        "The clocks went from 01:00 to 02:00 that night: there was no 01:30. Give another time, or the day if it is "
        "another."
    ]
    assert "radio" not in shown(form)


def test_of_an_hour_that_the_clocks_repeated_it_is_asked_which():
    form = given(at="2026-10-25T01:30")
    assert form.errors["at"] == [
        "The clocks went back from 02:00 to 01:00 that night: 01:30 came twice. Say which it was."
    ]
    page = shown(form)
    assert 'value="2026-10-25T01:30"' in page
    assert (
        '<input type="radio" name="at_which" value="+01:00"><span>The first, before the clocks went back (BST)' in page
    )
    assert '<input type="radio" name="at_which" value="+00:00"><span>The second, after they went back (GMT)' in page


@pytest.mark.parametrize(("which", "hour"), [("+01:00", 0), ("+00:00", 1)])
def test_the_one_that_was_meant_is_taken_and_stays_chosen(which, hour):
    form = given(at="2026-10-25T01:30", at_which=which)
    assert form.is_valid()
    assert form.cleaned_data["at"].astimezone(UTC) == datetime(2026, 10, 25, hour, 30, tzinfo=UTC)
    page = shown(form)
    assert f'value="{which}" checked' in page
    assert page.count("checked") == 1
    assert 'value="2026-10-25T01:30"' in page


def test_a_choice_left_from_another_time_is_nothing():
    form = given(at="2026-10-25T02:30", at_which="+01:00")
    assert form.is_valid()
    assert form.cleaned_data["at"].astimezone(UTC) == datetime(2026, 10, 25, 2, 30, tzinfo=UTC)
    assert "radio" not in shown(form)
    assert not given(at="2026-10-25T01:30", at_which="+05:00").is_valid()
    empty = given(at="", at_which="+01:00")
    assert empty.is_valid()
    assert empty.cleaned_data["at"] is None


@pytest.mark.parametrize("hours", [0, 1])
def test_a_kept_moment_of_that_hour_is_shown_as_the_one_it_is(hours):
    moment = datetime(2026, 10, 25, 0, 30, tzinfo=UTC) + timedelta(hours=hours)
    page = shown(WhenForm(initial={"at": moment}))
    assert 'value="2026-10-25T01:30"' in page
    assert f'value="{("+01:00", "+00:00")[hours]}" checked' in page


@pytest.mark.parametrize(
    "nonsense", ["soon", "9999-12-31T23:59", "+01:00", "2026-10-25T01:30+01:00+01:00", "0001-01-01T00:00"]
)
def test_what_is_no_time_asks_no_such_question(nonsense):
    form = given(at=nonsense, at_which="+01:00")
    form.is_valid()
    assert "radio" not in shown(form)


def test_an_offset_typed_after_the_time_says_which_too():
    form = given(at="2026-10-25T01:30+00:00")
    assert form.is_valid()
    assert form.cleaned_data["at"] == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
