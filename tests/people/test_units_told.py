"""What is kept in whole millimetres or stamped in litres, told to and typed by who reads other units."""

import pytest
from django import forms

from shop.calc.units import MM_PER_INCH
from shop.people.fields import LitresField, QuantityField, round_inches, stamped_words, unit_for, whole_words
from shop.people.models import Room

METRIC = Room()
IMPERIAL = Room(pressure_unit="psi", temperature_unit="degF", liquid_unit="gal", length_unit="in")


@pytest.mark.parametrize(
    ("typed", "told"),
    [(36, "36\u00a0in"), (1.5, "1.5\u00a0in"), (0.25, "0.25\u00a0in"), (1.25, "1.25\u00a0in"), (0, "0\u00a0in")],
)
def test_inches_come_back_as_they_were_typed(typed: float, told: str) -> None:
    assert whole_words("length", round(MM_PER_INCH * typed), IMPERIAL) == told


def test_every_quarter_and_tenth_of_an_inch_comes_back() -> None:
    for parts in (4, 10):
        for count in range(1, 2000):
            assert round_inches(round(MM_PER_INCH * count / parts)) == count / parts


def test_no_length_drifts_by_being_shown_and_typed_again() -> None:
    for mm in range(5000):
        assert round(MM_PER_INCH * round_inches(mm)) == mm


def test_whole_millimetres_stay_as_they_are() -> None:
    assert whole_words("length", 914, METRIC) == "914\u00a0mm"
    assert whole_words("length", -914, IMPERIAL) == "\u221236\u00a0in"
    assert whole_words("length", 254_000, IMPERIAL) == "10\u202f000\u00a0in"


@pytest.mark.parametrize(
    ("typed", "mm"), [("3 m", 3000), ("10 ft", 3048), ("2,5 cm", 25), ('36"', 914.4), ("1 foot", 304.8), ("7 mm", 7)]
)
def test_lengths_are_taken_in_metres_and_feet(typed: str, mm: float) -> None:
    assert QuantityField("length").clean(typed) == pytest.approx(mm)


@pytest.mark.parametrize(("typed", "kpa"), [("0.29 bar", 29), ("4.4 psi", 30.337), ("9 inHg", 30.478), ("30", 30)])
def test_suction_is_taken_as_any_dial_shows_it(typed: str, kpa: float) -> None:
    assert QuantityField("suction").clean(typed) == pytest.approx(kpa, rel=1e-4)


def test_a_stamped_volume_is_asked_in_litres_and_taken_in_gallons() -> None:
    field = LitresField(low=0, high=500)
    field.speak_to(IMPERIAL)
    assert field.unit == "l"
    assert field.clean("11.6 gal") == pytest.approx(43.911, abs=1e-3)
    assert field.clean("44") == 44
    assert field.clean("44000 ml") == 44
    with pytest.raises(forms.ValidationError) as refused:
        field.clean("200 gal")
    assert refused.value.messages == ["That is above 500\u00a0l (132.1\u00a0US gal)."]
    with pytest.raises(forms.ValidationError, match="not a unit for this"):
        field.clean("44 bar")


def test_a_stamped_volume_is_told_in_both() -> None:
    assert stamped_words(44, IMPERIAL) == "44\u00a0l (11.6\u00a0US gal)"
    assert stamped_words(2.5, IMPERIAL) == "2.5\u00a0l (0.66\u00a0US gal)"
    assert stamped_words(44, METRIC) == "44\u00a0l"


def test_degrees_of_change_follow_the_thermometer_and_grooves_the_ruler() -> None:
    assert unit_for("temperature_change", IMPERIAL) == "degF"
    assert (unit_for("groove_length", IMPERIAL), unit_for("groove_speed", IMPERIAL)) == ("ft", "in/s")
    assert (unit_for("groove_length", METRIC), unit_for("groove_speed", METRIC)) == ("m", "mm/s")
