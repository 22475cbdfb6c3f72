"""Putting somebody on a programme, and taking them off it."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.refusal import Changed, NotAllowed, Refused
from shop.training import actions, queries
from shop.training.models import Enrolment, Programme
from tests.training.makers import enrol, make_programme, sign, step_of


@pytest.fixture
def programme(db):
    return make_programme("watch:Walk the exits", "do:Wet the chip")


def test_somebody_is_put_on_a_programme(engineer, assistant, programme):
    made = enrol(engineer, programme, assistant, mentor=engineer)
    assert (made.starts_on, made.mentor, made.by) == (clock.today(), engineer, engineer)


def test_it_is_once_however_often_it_is_pressed(engineer, assistant, programme):
    token = uuid4()
    first, second = (actions.enrol(by=engineer, once=token, programme=programme, person=assistant) for _ in range(2))
    assert first == second
    with pytest.raises(Refused) as no:
        enrol(engineer, programme, assistant)
    assert no.value.field == "person"


def test_an_assistant_puts_nobody_on_one(assistant, programme):
    with pytest.raises(NotAllowed):
        enrol(assistant, programme, assistant)


def test_a_visitor_goes_through_none(engineer, visitor, programme):
    with pytest.raises(Refused) as no:
        enrol(engineer, programme, visitor)
    assert no.value.field == "person"


def test_nobody_leads_themselves_by_a_second_account_either(engineer, assistant, programme):
    assistant.same_as = engineer
    assistant.save()
    for mentor in (assistant, engineer):
        with pytest.raises(Refused) as no:
            enrol(engineer, programme, assistant, mentor=mentor)
        assert no.value.field == "mentor"


def test_a_stopped_programme_takes_nobody_and_keeps_those_in_it(owner, engineer, assistant, programme):
    course = enrol(engineer, programme, assistant)
    sign(engineer, step_of(programme, "Walk the exits"), assistant)
    Programme.objects.update(is_active=False)
    with pytest.raises(Refused) as no:
        enrol(engineer, programme, owner)
    assert no.value.field == "programme"
    assert queries.course_of(course).done == 1
    with pytest.raises(Refused, match="stopped"):
        sign(engineer, step_of(programme, "Wet the chip"), assistant)


def test_a_first_day_a_year_away_is_refused(engineer, assistant, programme):
    with pytest.raises(Refused) as no:
        enrol(engineer, programme, assistant, starts_on=clock.today() - timedelta(days=400))
    assert no.value.field == "starts_on"


def test_what_was_done_stays_when_it_is_ended_and_counts_on_return(engineer, assistant, programme):
    made = enrol(engineer, programme, assistant)
    sign(engineer, step_of(programme, "Walk the exits"), assistant)
    ended = actions.end_enrolment(by=engineer, once=uuid4(), enrolment=made, version=1, why="Off to sea.")
    assert (ended.ended_why, ended.ended_by) == ("Off to sea.", engineer)
    assert not queries.under_way().exists()
    assert queries.course_of(enrol(engineer, programme, assistant)).done == 1
    with pytest.raises(Changed):
        actions.end_enrolment(by=engineer, once=uuid4(), enrolment=ended, version=2, why="Again.")


def test_it_is_ended_with_a_reason(engineer, assistant, programme):
    made = enrol(engineer, programme, assistant)
    with pytest.raises(Refused) as no:
        actions.end_enrolment(by=engineer, once=uuid4(), enrolment=made, version=1, why=" ")
    assert no.value.field == "why"


def test_mentor_and_first_day_are_changed_and_not_over_somebody_elses_change(owner, engineer, assistant, programme):
    made = enrol(engineer, programme, assistant)
    day = clock.today() + timedelta(days=7)
    kept = {"enrolment": made, "version": 1, "mentor": owner, "starts_on": day}
    changed = actions.change_enrolment(by=engineer, once=uuid4(), **kept)
    assert (changed.mentor, changed.starts_on) == (owner, day)
    with pytest.raises(Changed):
        actions.change_enrolment(by=engineer, once=uuid4(), **kept)


def test_one_says_for_oneself_only_that_one_saw_what_changed(engineer, assistant, programme, at):
    made = enrol(engineer, programme, assistant)
    with at(f"{clock.today() + timedelta(days=1)} 09:00"):
        before = made.seen_at
        seen = actions.see_changes(by=assistant, once=uuid4(), enrolment=made)
        assert seen.seen_at > before
    with pytest.raises(Refused):
        actions.see_changes(by=engineer, once=uuid4(), enrolment=Enrolment.objects.get())


def test_progress_takes_the_same_queries_for_many(owner, engineer, assistant, programme, django_assert_max_num_queries):
    for person in (owner, engineer, assistant):
        enrol(owner, programme, person)
    with django_assert_max_num_queries(9):
        assert len(queries.courses(queries.under_way())) == 3
