"""Answering questions: wrong ones come round again, later and spaced."""

from datetime import timedelta
from uuid import uuid4

import pytest

from shop import clock
from shop.calc.learning import Stands
from shop.refusal import Changed, NotAllowed, Refused
from shop.training import actions, queries
from shop.training.models import Answer, Programme, Question, Step
from tests.training.makers import answer, enrol, make_programme, make_question, step_of


@pytest.fixture
def step(db):
    return step_of(make_programme("answer:What burns", "watch:Walk the exits"), "What burns")


@pytest.fixture
def question(step):
    return make_question(step)


@pytest.fixture
def course(engineer, assistant, step, question):
    return enrol(engineer, step.programme, assistant)


def stands(course, step):
    return queries.course_of(course).line_of(step)


def test_a_right_answer_settles_it(assistant, course, step, question):
    made = answer(assistant, question, right=True)
    assert (made.right, made.edition, made.person) == (True, 1, assistant)
    assert stands(course, step).standing.stands is Stands.DONE
    with pytest.raises(Changed, match="settled"):
        answer(assistant, question, right=True)


def test_a_press_answers_once(assistant, course, question):
    token = uuid4()
    for _ in range(2):
        actions.answer_question(by=assistant, once=token, question=question, edition=1, chosen=0)
    assert Answer.objects.count() == 1


def test_a_wrong_one_is_not_asked_again_on_the_same_day_and_comes_round_spaced(assistant, course, step, question, at):
    first = clock.today()
    answer(assistant, question, right=False)
    assert stands(course, step).asked is None
    with pytest.raises(Changed, match="comes round again"):
        answer(assistant, question, right=True)
    for days in (1, 4, 11):
        with at(f"{first + timedelta(days=days)} 09:00"):
            assert stands(course, step).asked.key == question.pk
            answer(assistant, question, right=True)
    assert stands(course, step).standing.stands is Stands.DONE


def test_a_choice_that_is_not_there_is_refused(assistant, course, question):
    for chosen in (-1, 3):
        with pytest.raises(Refused) as no:
            actions.answer_question(by=assistant, once=uuid4(), question=question, edition=1, chosen=chosen)
        assert no.value.field == "chosen"


def test_a_question_that_was_changed_meanwhile_is_read_again(assistant, course, question):
    Question.objects.update(edition=2)
    with pytest.raises(Changed, match="Read it again"):
        answer(assistant, question, right=True)


def test_what_waits_for_others_is_not_answered_yet(assistant, course, step, question):
    step.needs.add(Step.objects.get(title="Walk the exits"))
    with pytest.raises(Refused, match="First comes: Walk the exits"):
        answer(assistant, question, right=True)


def test_only_who_goes_through_the_programme_answers(engineer, visitor, course, question):
    with pytest.raises(Refused, match="do not go through"):
        answer(engineer, question, right=True)
    with pytest.raises(NotAllowed):
        answer(visitor, question, right=True)


@pytest.mark.parametrize("stop", [Question, Step, Programme])
def test_what_was_stopped_asks_no_more(assistant, course, question, stop):
    stop.objects.update(is_active=False)
    with pytest.raises(Changed, match="not asked any more"):
        answer(assistant, question, right=True)
