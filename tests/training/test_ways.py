"""What is missing before an act, and what stood there when it was signed."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, transaction
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from shop import clock
from shop.people.models import Person
from shop.training import editions, queries
from shop.training.models import Act, Answer, Enrolment, Programme, Question, SignOff, Step, StepEdition


def programme(count, needs, name="First weeks"):
    """Steps "0", "1", …, each needing those of lower numbers that are named."""
    made = Programme.objects.create(name=name)
    steps = [Step.objects.create(programme=made, order=n, kind="show", title=str(n)) for n in range(count)]
    for after, before in needs:
        steps[after].needs.add(steps[before])
    return made, steps


@pytest.fixture
def act(db):
    return Act.objects.create(slug="fit", name="Fit it")


def test_no_programme_leads_there(act, assistant):
    assert queries.ways_to(act, person=assistant, done=()) == []


def test_all_it_rests_on_is_asked_for_in_order(act, assistant, django_assert_max_num_queries):
    _, steps = programme(5, [(4, 2), (2, 0), (3, 1)])
    Step.objects.filter(pk=steps[4].pk).update(act=act)
    with django_assert_max_num_queries(4):
        (way,) = queries.ways_to(act, person=assistant, done={steps[2].pk})
    assert [step.title for step in way.steps] == ["0", "2", "4"]
    assert [step.title for step in way.missing] == ["0", "4"]


def test_a_stopped_step_asks_for_nothing_but_what_comes_before_it_is_still_asked(act, assistant):
    _, steps = programme(3, [(2, 1), (1, 0)])
    Step.objects.filter(pk=steps[2].pk).update(act=act)
    Step.objects.filter(pk=steps[1].pk).update(is_active=False)
    (way,) = queries.ways_to(act, person=assistant, done=())
    assert [step.title for step in way.missing] == ["0", "2"]


def test_a_stopped_programme_leads_there_for_those_under_way_only(act, assistant, owner):
    made, steps = programme(1, [])
    Step.objects.filter(pk=steps[0].pk).update(act=act)
    Programme.objects.filter(pk=made.pk).update(is_active=False)
    assert queries.ways_to(act, person=assistant, done=()) == []
    Enrolment.objects.create(programme=made, person=assistant, starts_on=clock.today(), at=clock.now(), by=owner)
    assert len(queries.ways_to(act, person=assistant, done=())) == 1


def test_the_way_with_least_missing_comes_first(act, assistant):
    for name, count in (("A", 2), ("B", 1)):
        _, steps = programme(count, [(n, n - 1) for n in range(1, count)], name)
        Step.objects.filter(pk=steps[-1].pk).update(act=act)
    ways = queries.ways_to(act, person=assistant, done=())
    assert [(way.programme.name, len(way.missing)) for way in ways] == [("B", 1), ("A", 2)]


class NoWaySkips(TestCase):
    @settings(max_examples=40, deadline=None)
    @given(st.data())
    def test_nothing_is_missing_only_when_every_step_on_the_way_is_done(self, data):
        count = data.draw(st.integers(1, 7))
        pairs = [(after, before) for after in range(count) for before in range(after)]
        needs = data.draw(st.lists(st.sampled_from(pairs), unique=True, max_size=9)) if pairs else []
        stopped = data.draw(st.sets(st.integers(0, count - 1)))
        ends = data.draw(st.sets(st.integers(0, count - 1), min_size=1))
        done = data.draw(st.sets(st.integers(0, count - 1)))
        act = Act.objects.create(slug="fit", name="Fit it")
        person = Person(pk=1)
        _, steps = programme(count, needs)
        Step.objects.filter(pk__in=[steps[n].pk for n in ends]).update(act=act)
        Step.objects.filter(pk__in=[steps[n].pk for n in stopped]).update(is_active=False)
        # By hand: whoever may do it has done every step that is asked for and from which a path leads to an end.
        reach = set(ends - stopped)
        for after in range(count - 1, -1, -1):
            reach |= {before for a, before in needs if a == after and after in reach}
        ways = queries.ways_to(act, person=person, done={steps[n].pk for n in done})
        assert bool(ways) == bool(ends - stopped)
        for way in ways:
            assert {int(step.title) for step in way.missing} == reach - stopped - done


# As it stood ----------------------------------------------------------------------------------------------------------


def test_a_sign_off_is_read_with_the_words_it_was_made_under(assistant, owner):
    _, (step,) = programme(1, [])
    first = clock.now() - timedelta(days=3)
    editions.keep_step(step, by=owner, at=first)
    signed = [
        SignOff.objects.create(
            step=step, edition=edition, person=assistant, on=clock.today(), how="password", at=at, by=owner
        )
        for edition, at in ((1, first + timedelta(days=1)), (2, first + timedelta(days=2, hours=1)))
    ]
    step.title, step.edition = "Otherwise", 2
    step.save()
    editions.keep_step(step, by=owner, at=first + timedelta(days=2))
    found = queries.steps_as_signed(signed)
    assert [found[one.pk].title for one in signed] == ["0", "Otherwise"]


def test_an_answer_is_read_with_the_question_it_was_given_to(assistant, owner):
    _, (step,) = programme(1, [])
    question = Question.objects.create(step=step, text="Which?", choices=["a", "b"], right=0, reason="So.")
    at = clock.now() - timedelta(days=3)
    editions.keep_questions([question], by=owner, at=at)
    answer = Answer.objects.create(
        question=question, edition=1, person=assistant, chosen=0, right=True, at=at + timedelta(hours=1)
    )
    question.choices, question.edition = ["b", "a"], 2
    question.save()
    editions.keep_questions([question], by=owner)
    assert queries.questions_as_answered([answer])[answer.pk].choices == ["a", "b"]


@pytest.mark.parametrize("verb", ["update", "delete"])
def test_words_once_kept_are_neither_changed_nor_removed(owner, verb):
    _, (step,) = programme(1, [])
    kept = StepEdition.objects.filter(pk=editions.keep_step(step, by=owner).pk)
    with pytest.raises(DatabaseError), transaction.atomic():
        kept.update(title="Never") if verb == "update" else kept.delete()


def test_what_came_with_the_room_is_kept_as_it_came_and_once(db):
    _, steps = programme(2, [(1, 0)])
    editions.begin()
    editions.begin()
    assert [(kept.title, kept.needs, kept.by) for kept in StepEdition.objects.all()] == [
        ("0", [], None),
        ("1", ["0"], None),
    ]
    assert StepEdition.objects.count() == len(steps)
