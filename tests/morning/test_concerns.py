"""What the morning worries about, and what other apps' worries do to the verdict."""

import pytest

from shop import clock, concern
from shop.concern import Concern, Grade
from shop.morning.concerns import concerns
from shop.morning.models import Verdict
from shop.morning.verdict import MEANING, verdict_of
from tests.morning.makers import CAN, EXITS, correct_check, make_check, make_list, room_in_order


@pytest.fixture
def asked(engineer, at):
    with at("2025-03-03 08:05"):
        room_in_order(engineer)
        yield make_list(engineer)


def keys():
    return [one.key for one in concerns(clock.now())]


def worry(grade):
    return Concern("x:1", grade, "Something", "It is amiss", "So it is.", "Look.", "/")


def test_no_check_yet_today_is_care(asked):
    (one,) = concerns(clock.now())
    assert (one.key, one.grade, one.link) == ("morning:no-check", Grade.CARE, "/check/")


def test_a_check_settles_it_until_the_day_is_over(asked, assistant, at):
    make_check(assistant)
    assert keys() == []
    with at("2025-03-03 23:59"):
        assert keys() == []
    with at("2025-03-04 00:00"):
        assert keys() == ["morning:no-check"]


def test_a_no_stays_until_a_later_check_says_otherwise(asked, assistant, at):
    check = make_check(assistant, no=[EXITS], left_out=["room_rh"])
    assert keys() == [f"morning:no:{asked[EXITS].pk}", f"morning:left-out:{asked['room_rh'].pk}"]
    with at("2025-03-03 08:30"):
        correct_check(assistant, check)
        assert keys() == []


def test_the_grade_is_the_one_of_the_moment_it_was_answered(asked, assistant):
    make_check(assistant, no=[CAN])
    type(asked[CAN]).objects.filter(pk=asked[CAN].pk).update(grade_if_no=Grade.HOLD, text="x", what_to_do="y")
    (one,) = concerns(clock.now())
    assert (one.grade, one.what_to_do) == (Grade.CARE, f"Put right: {CAN}")


@pytest.mark.parametrize(
    ("grades", "verdict"),
    [
        ([], Verdict.CLEAR),
        ([Grade.NOTE], Verdict.CLEAR),
        ([Grade.NOTE, Grade.CARE], Verdict.CARE),
        ([Grade.CARE, Grade.HOLD, Grade.NOTE], Verdict.HOLD),
    ],
)
def test_the_verdict_is_the_worst_concern(grades, verdict):
    assert verdict_of(worry(grade) for grade in grades) == verdict


def test_no_verdict_calls_a_room_safe():
    for words in (*MEANING.values(), *Verdict.labels):
        assert "safe" not in words.lower()
    assert set(MEANING) == set(Verdict)


def test_what_another_app_worries_about_is_in_the_verdict(asked, assistant, monkeypatch):
    monkeypatch.setitem(concern._questions, "other", lambda now: [worry(Grade.HOLD)])
    check = make_check(assistant)
    assert check.verdict == Verdict.HOLD
    assert [one["key"] for one in check.concerns] == ["x:1"]


def test_an_app_that_fails_to_answer_holds_the_day(asked, assistant, monkeypatch, caplog):
    def fault(now):
        raise RuntimeError("broken")

    monkeypatch.setitem(concern._questions, "other", fault)
    check = make_check(assistant)
    assert check.verdict == Verdict.HOLD
    assert check.concerns[0]["key"] == "concern:failed:other"
    assert "other" in caplog.text
