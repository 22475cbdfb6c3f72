"""What may be typed for a length and a pitch."""

import pytest
from django import forms

from shop.cutting.fields import MinutesField, PitchField


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [
        ("21:30", 1290),
        (" 21 : 30 ", 1290),
        ("1:02:05", 3725),
        ("0:45", 45),
        ("21.5", 1290),
        ("21,5", 1290),
        ("21", 1260),
        ("21 min", 1260),
        ("90 s", 90),
        ("21.125", 1268),
    ],
)
def test_lengths(typed, seconds):
    assert MinutesField().clean(typed) == seconds


@pytest.mark.parametrize(
    "typed",
    [
        "21.30",
        "21,50",
        "abc",
        "21:75",
        "-3",
        "1e9",
        "99999999999999999999",
        "0",
        "3:00:00",
        "12 km",
        "<b>20</b>",
        "٢١",
        ":",
        "1:2:3:4",
    ],
)
def test_no_lengths(typed):
    with pytest.raises(forms.ValidationError):
        MinutesField().clean(typed)


def test_two_decimals_are_asked_about_and_not_guessed():
    with pytest.raises(forms.ValidationError, match=r"21:30, or 21\.3 minutes"):
        MinutesField().clean("21.30")


def test_a_length_is_shown_as_it_is_typed():
    assert MinutesField().prepare_value(1290) == "21:30"
    assert MinutesField().prepare_value("21,x") == "21,x"


@pytest.mark.parametrize(
    ("typed", "um"),
    [
        ("254", 100.0),
        ("254 lpi", 100.0),
        ("254 lines/in", 100.0),
        ("100 µm", 100.0),
        ("100um", 100.0),
        ("4 mil", 101.6),
    ],
)
def test_pitches(typed, um):
    assert PitchField(low=25, high=1000).clean(typed) == pytest.approx(um)


@pytest.mark.parametrize("typed", ["0", "-5", "5", "100000", "1,234", "many", "100 parsec", "0 µm", "nan", "inf"])
def test_no_pitches(typed):
    with pytest.raises(forms.ValidationError):
        PitchField(low=25, high=1000).clean(typed)


def test_a_pitch_is_shown_in_lines():
    assert PitchField().prepare_value(100.0) == "254"
    assert PitchField().prepare_value(96.0) == "264.6"
    assert PitchField(low=25, high=1000).clean(PitchField().prepare_value(96.05)) <= 96.05
