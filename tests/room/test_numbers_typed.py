"""Whatever number is typed into a measured box, in whatever unit: it is taken, asked about or refused in a sentence."""

import copy
import re
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django import forms
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.calc import units
from shop.people.fields import QuantityField, unit_for
from shop.press.plain import PlainForm
from shop.room.fields import FillTemperatureField, ReadingField
from shop.room.kinds import KINDS
from shop.room.models import Reading, ReadingKind
from shop.room.wording import unit_slip
from tests.room import makers

METRIC = SimpleNamespace(pressure_unit="bar", temperature_unit="degC", liquid_unit="l", length_unit="mm")
IMPERIAL = SimpleNamespace(pressure_unit="psi", temperature_unit="degF", liquid_unit="gal", length_unit="in")
READERS = st.sampled_from([METRIC, IMPERIAL])
TYPED = st.one_of(
    st.integers(-1000, 1000), st.decimals(-1000, 1000, places=2), st.decimals(-(10**12), 10**12, places=1)
).map(str)
#: About every edge that a conversion or a formula has.
EDGES = [-1e12, -460, -459.67, -300, -280, -273.15, -250, -40, -0.4, 0, 0.43, 0.5, 66, 71, 155, 2600, 1e12]


def _every_form(of=PlainForm):
    for form in of.__subclasses__():
        yield form
        yield from _every_form(form)


def measured_boxes():
    """Each measured box that stands in a form of the house, and one of each kind of reading."""
    boxes = {
        f"{form.__module__}.{form.__name__}.{name}": field
        for form in _every_form()
        for name, field in form.base_fields.items()
        if isinstance(field, QuantityField)
    }
    return boxes | {f"reading.{kind}": ReadingField(kind) for kind in KINDS}


def test_no_number_typed_into_any_measured_box_raises_anything_but_a_sentence():
    boxes = measured_boxes()
    assert len(boxes) > 30
    assert any(isinstance(box, FillTemperatureField) for box in boxes.values())
    taken: list[float] = []
    refused: list[str] = []

    @given(text=TYPED, reader=READERS, data=st.data())
    @settings(max_examples=40)
    def typed(text, reader, data):
        for box in boxes.values():
            field = copy.deepcopy(box)
            field.speak_to(reader)
            unit = data.draw(st.sampled_from(["", *units.UNITS[field.kind]]))
            try:
                taken.append(field.clean(f"{text} {unit}".strip()))
            except forms.ValidationError as no:
                refused.extend(no.messages)

    typed()
    assert len(taken) > 100
    assert len(refused) > 100
    assert {sentence for sentence in refused if not re.fullmatch(r"[A-Z“0-9\u2212].*[.?]", sentence)} == set()


@given(text=TYPED, quantity=st.sampled_from(sorted(set(units.UNITS) - {"pitch"})), reader=READERS, data=st.data())
def test_the_question_about_a_unit_never_raises_and_never_tells_a_figure_that_was_not_typed(
    text, quantity, reader, data
):
    unit = data.draw(st.sampled_from(sorted(units.UNITS[quantity])))
    number = float(text)
    try:
        stored = units.to_stored(quantity, number, unit)
    except ValueError:
        return
    asked = unit_slip(quantity, stored, reader, lambda other: True)
    if unit != unit_for(quantity, reader) or not asked:
        return
    figure = re.search(r"Did you mean (\S+) ", asked)[1].replace("\u2212", "-")
    assert len(figure.partition(".")[2]) <= 3
    if "." not in text:  # a whole number is nowhere rounder than in the unit in which it was typed
        assert float(figure) == number


def test_a_number_that_is_likely_in_no_other_unit_is_not_turned_into_one_that_nobody_typed(engineer):
    engineer.temperature_unit = "degF"
    stored = units.to_stored("temperature", 155, "degF")
    assert unit_slip("temperature", stored, engineer, lambda c: 10 <= c <= 35) == ""
    stored = units.to_stored("temperature", 21.5, "degF")
    assert unit_slip("temperature", stored, engineer, lambda c: 10 <= c <= 35) == (
        "21.5 °F would be \u22125.8\u00a0°C. Did you mean 21.5 °C (70.7\u00a0°F)?"
    )


# The pages that have such boxes ---------------------------------------------------------------------------------------


@pytest.fixture(params=["metric", "imperial"])
def reader(engineer, request):
    if request.param == "imperial":
        engineer.temperature_unit, engineer.pressure_unit = "degF", "psi"
        engineer.liquid_unit, engineer.length_unit = "gal", "in"
        engineer.save()
    return engineer


@pytest.mark.parametrize("number", EDGES)
def test_no_page_that_takes_readings_fails_on_a_number(reader, client_of, number):
    value = f"{number:.12g}"
    cylinder = makers.connected_cylinder(reader)
    makers.take(reader, room_c=21.0)
    wrong = Reading.objects.get()
    client = client_of(reader)
    every = {str(kind): value for kind in ReadingKind}
    answers = {
        "take": client.post("/room/readings/take/", {"once": uuid4(), **every}),
        "correct": client.post(
            f"/room/readings/{wrong.pk}/correct/", {"once": uuid4(), "value": value, "reason": "A slip"}
        ),
        "add": client.post(
            "/room/cylinders/add/",
            {
                "once": uuid4(),
                "mark": "N-40",
                "gas": "nitrogen",
                "water_volume_l": "50",
                "service_bar": "200",
                "fill_bar": value,
                "fill_c": value,
            },
        ),
    }
    assert {name: answer.status_code in (302, 422) for name, answer in answers.items()} == dict.fromkeys(answers, True)
    assert cylinder.pk
