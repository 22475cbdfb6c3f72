"""A correction is a check of its own that names the old one."""

from uuid import uuid4

import pytest

from shop.morning import actions
from shop.morning.models import Check, Verdict
from shop.morning.queries import standing_check
from shop.refusal import Changed, NotAllowed, Refused
from shop.room import actions as room
from shop.room.models import Reading
from tests.makers import moment, together
from tests.morning.makers import CAN, VALUES, correct_check, given, make_check, make_list, room_in_order


@pytest.fixture
def check(engineer, assistant, at):
    with at("2025-03-03 08:05"):
        room_in_order(engineer)
        make_list(engineer)
        return make_check(assistant, no=[CAN])


@pytest.fixture
def later(check, at):
    with at("2025-03-03 09:30"):
        yield


def test_names_the_old_one_which_stays(check, later, engineer):
    fresh = correct_check(engineer, check, note="The can was emptied.")
    assert fresh.corrects == check
    assert (fresh.verdict, fresh.signed_as, fresh.note) == (Verdict.CLEAR, "Edvin Maarsk", "The can was emptied.")
    old = Check.objects.get(pk=check.pk)
    assert (old.verdict, old.is_corrected, old.corrected_by) == (Verdict.CARE, True, fresh)
    assert old.answers.get(text=CAN).yes is False
    assert standing_check(fresh.day) == fresh


def test_readings_left_alone_are_the_same_readings(check, later, engineer):
    fresh = correct_check(engineer, check)
    assert Reading.objects.count() == len(VALUES)
    both = [{a.reading_id for a in one.answers.all() if a.reading_id} for one in (check, fresh)]
    assert both[0] == both[1]


def test_another_value_corrects_the_reading_at_its_own_moment(check, later, engineer):
    fresh = correct_check(engineer, check, room_rh=41.0)
    reading = fresh.answers.get(question__reading="room_rh").reading
    assert (reading.value, reading.corrects.value) == (41.0, 45.0)
    assert reading.at == moment("2025-03-03 08:05")
    assert reading.recorded_at == moment("2025-03-03 09:30")


def test_a_gauge_is_corrected_for_the_cylinder_it_was_read_on(check, later, engineer):
    fresh = correct_check(engineer, check, nitrogen_bar=185.0)
    assert fresh.answers.get(question__reading="nitrogen_bar").reading.cylinder.mark == "N-17"


def test_starts_from_a_reading_corrected_elsewhere(check, later, engineer):
    wrong = check.answers.get(question__reading="room_rh").reading
    room.correct_reading(by=engineer, once=uuid4(), reading=wrong, value=47.0, reason="Read the wrong line.")
    fresh = correct_check(engineer, check, room_rh=47.0)
    assert fresh.answers.get(question__reading="room_rh").reading.corrects == wrong
    assert Reading.objects.filter(kind="room_rh").count() == 2
    second = correct_check(engineer, fresh, room_rh=48.0)
    assert second.answers.get(question__reading="room_rh").reading.corrects.value == 47.0


def test_a_reading_left_out_before_is_taken_now(engineer, assistant, at):
    with at("2025-03-03 08:05"):
        room_in_order(engineer)
        make_list(engineer)
        check = make_check(assistant, left_out=["room_rh"])
    with at("2025-03-03 09:30"):
        fresh = correct_check(assistant, check)
        assert fresh.answers.get(question__reading="room_rh").reading.at == moment("2025-03-03 09:30")


def test_needs_a_word_on_what_is_put_right(check, later, engineer):
    with pytest.raises(Refused, match="what is put right") as no:
        correct_check(engineer, check, note=" ")
    assert no.value.field == "note"


def test_is_refused_once_the_day_is_over(check, engineer, at):
    with at("2025-03-04 07:00"), pytest.raises(Refused, match="day of that check is over"):
        correct_check(engineer, check)


def test_is_refused_for_one_already_corrected(check, later, engineer, assistant):
    correct_check(engineer, check)
    with pytest.raises(Changed, match="corrected already"):
        correct_check(assistant, check)
    assert Check.objects.count() == 2


def test_a_visitor_corrects_none(check, later, visitor):
    with pytest.raises(NotAllowed):
        correct_check(visitor, check)


def test_twice_is_once(check, later, engineer):
    once, answers = uuid4(), given()
    pressed = [
        actions.correct_check(by=engineer, once=once, check=check, answers=answers, note="Looked again.")
        for _ in range(2)
    ]
    assert pressed[0] == pressed[1]
    assert Check.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_two_at_the_same_moment_correct_it_once(check, later, engineer, assistant):
    answers = given()
    found = together(
        *[
            lambda by=by: actions.correct_check(by=by, once=uuid4(), check=check, answers=answers, note="Looked again.")
            for by in (engineer, assistant)
        ]
    )
    assert sorted(type(one).__name__ for one in found) == ["Changed", "Check"]
    assert Check.objects.count() == 2
