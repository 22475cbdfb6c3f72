import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from shop import concern
from shop.concern import Concern, Grade, Quantity, restored, told

NOW = datetime(2025, 3, 3, 8, 10, tzinfo=UTC)


def worry(key, grade, by=None):
    return Concern(key, grade, "Chip", "Chip trap near full", "410 of 450 g", "Empty it.", "/duties/", by)


@pytest.fixture
def questions(monkeypatch):
    """An empty registry for the length of the test."""
    found = {}
    monkeypatch.setattr(concern, "_questions", found)
    return found


def test_all_are_gathered_gravest_first_then_by_date_and_key(questions):
    later, sooner = NOW + timedelta(days=2), NOW + timedelta(days=1)
    concern.register("stock", lambda now: [worry("a", Grade.NOTE), worry("c", Grade.CARE, later)])
    concern.register(
        "room", lambda now: [worry("d", Grade.CARE, sooner), worry("b", Grade.HOLD), worry("e", Grade.CARE)]
    )
    assert [c.key for c in concern.gather(NOW)] == ["b", "e", "d", "c", "a"]


def test_each_question_is_asked_about_the_same_moment(questions):
    asked = []
    concern.register("stock", lambda now: asked.append(now) or [])
    concern.register("room", lambda now: asked.append(now) or [])
    assert concern.gather(NOW) == []
    assert asked == [NOW, NOW]


def test_some_may_be_left_out(questions):
    concern.register("stock", lambda now: [worry("a", Grade.NOTE)])
    concern.register("morning", lambda now: [worry("b", Grade.NOTE)])
    assert [c.key for c in concern.gather(NOW, leave_out=["morning"])] == ["a"]


def test_registering_a_name_again_replaces_its_question(questions):
    concern.register("stock", lambda now: [worry("a", Grade.NOTE)])
    concern.register("stock", lambda now: [worry("b", Grade.NOTE)])
    assert [c.key for c in concern.gather(NOW)] == ["b"]


def test_a_question_that_fails_is_itself_a_hold_and_hides_no_other(questions, caplog):
    def fails(now):
        raise ZeroDivisionError

    concern.register("room", fails)
    concern.register("stock", lambda now: [worry("a", Grade.NOTE)])
    first, second = concern.gather(NOW)
    assert (first.key, first.grade) == ("concern:failed:room", Grade.HOLD)
    assert second.key == "a"
    assert "ZeroDivisionError" in caplog.text


def test_the_worst_grade():
    assert concern.worst([]) is None
    assert concern.worst([worry("a", Grade.CARE), worry("b", Grade.NOTE)]) == Grade.CARE
    assert Grade.HOLD.word == "hold"


def test_a_concern_is_stored_as_plain_json():
    stored = worry("a", Grade.CARE, NOW).stored()
    assert stored["grade"] == 2
    assert stored["by"] == "2025-03-03T08:10:00+00:00"
    assert worry("a", Grade.NOTE).stored()["by"] is None


def test_a_stored_concern_comes_back_as_it_was():
    for one in (worry("a", Grade.CARE, NOW), worry("b", Grade.HOLD)):
        assert concern.restored(one.stored()) == one


def test_quantities_are_told_in_another_unit_and_no_part_of_a_longer_number_is():
    quantities = (Quantity("7.4 mm", "length", 7.4), Quantity("20 °C", "temperature", 20.0))
    words = {"length": "0.29 in", "temperature": "68 °F"}
    text = "7.4 mm are missing, not 17.4 mm nor 1,7.4 mm; 7.4 mmol (at 20 °C)."
    assert told(text, quantities, lambda kind, value: words[kind]) == (
        "0.29 in are missing, not 17.4 mm nor 1,7.4 mm; 7.4 mmol (at 68 °F)."
    )
    assert told(text, (), lambda kind, value: "never asked") == text


def test_quantities_are_kept_with_the_concern_and_those_without_are_stored_as_ever():
    plain = Concern("a", Grade.NOTE, "s", "h", "r", "w", "/")
    assert "quantities" not in plain.stored()
    with_one = replace(plain, quantities=(Quantity("7.4 mm", "length", 7.4),))
    assert restored(json.loads(json.dumps(with_one.stored()))) == with_one


def test_gravest_first_then_what_is_now_then_by_date_then_by_key():
    given = [worry("b", Grade.NOTE), worry("d", Grade.CARE), worry("c", Grade.CARE), worry("a", Grade.CARE, NOW)]
    assert [one.key for one in concern.gravest_first(given)] == ["c", "d", "a", "b"]
