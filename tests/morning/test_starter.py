"""The starter list of questions."""

import json
from collections import Counter
from pathlib import Path

import pytest
from django.conf import settings

from shop.concern import Grade
from shop.morning import queries
from shop.morning.models import AnswerKind
from shop.room.models import ReadingKind
from tests.morning.makers import load_starter, make_check, room_in_order

ROWS = json.loads((Path(settings.BASE_DIR) / "fixtures" / "starter_morning.json").read_text())


@pytest.fixture
def listed(room_row):
    load_starter()
    return list(queries.questions())


#: Not every room has a gauge at its trap or pump, or a thermometer in its store: whoever has adds the question.
NOT_ASKED = {ReadingKind.TRAP_KPA, ReadingKind.PUMP_KPA, ReadingKind.STORE_C, ReadingKind.STORE_RH}


def test_asks_once_for_every_reading_that_each_room_has(listed):
    read = Counter(question.reading for question in listed if question.kind == AnswerKind.READING)
    assert read == Counter(set(ReadingKind) - NOT_ASKED)


def test_each_says_where_why_what_to_do_and_where_it_is_from(listed):
    for question in listed:
        assert question.place
        assert question.why
        assert question.what_to_do
        assert question.source


def test_places_are_walked_once(listed):
    """No walking back: each place's questions stand together."""
    walked = [question.place for question in listed]
    assert len({place for place, before in zip(walked, ["", *walked], strict=False) if place != before}) == sum(
        place != before for place, before in zip(walked, ["", *walked], strict=False)
    )


def test_never_calls_anything_safe_and_defers_where_it_matters(listed):
    said = json.dumps(ROWS).lower()
    assert " safe " not in said
    fire = next(question for question in listed if question.place == "Fire point")
    assert "Your local fire code and the supplier's safety data decide" in fire.why
    assert "carbon dioxide" in fire.why
    assert fire.grade_if_no == Grade.HOLD


def test_a_room_in_order_gets_its_check(listed, engineer, assistant, at):
    with at("2025-03-03 08:05"):
        room_in_order(engineer)
        check = make_check(assistant, hold_down_kpa=60.0, chip_kpa=12.0, heater_ma=600.0)
    assert check.answers.count() == len(listed) == len(ROWS)
