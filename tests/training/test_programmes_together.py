"""Two who change a programme at the same moment: real threads, real transactions. Runs on PostgreSQL as it stands."""

from functools import partial
from uuid import uuid4

import pytest

from shop.calc import order
from shop.refusal import Changed, Refused
from shop.training import actions, queries
from shop.training.models import Programme, Step
from tests import makers
from tests.training import programme_makers as of

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def programme(owner):
    return of.begin(owner)


def test_a_loop_that_two_would_close_together_is_closed_by_neither(owner, programme):
    one, two = (of.add(owner, programme, title) for title in ("One", "Two"))
    results = makers.together(partial(of.change, owner, one, needs=[two]), partial(of.change, owner, two, needs=[one]))
    assert sorted(isinstance(result, Step) for result in results) == [False, True], results
    (refused,) = (result for result in results if isinstance(result, Refused))
    assert "goes round in a loop" in refused.sentence
    assert order.find_loop(queries.needs_of([programme])) == []


def test_two_steps_added_at_once_have_a_place_each(owner, programme):
    results = makers.together(*[partial(of.add, owner, programme, title) for title in "ABCDEF"])
    assert all(isinstance(result, Step) for result in results), results
    assert sorted(programme.steps.values_list("order", flat=True)) == [10, 20, 30, 40, 50, 60]


def test_a_step_changed_by_two_at_once_is_changed_by_one(owner, programme):
    step = of.add(owner, programme, "One")
    results = makers.together(*[partial(of.change, owner, step, version=1, why=why) for why in ("So.", "Not so.")])
    assert sorted(type(result) for result in results if isinstance(result, Changed)) == [Changed]
    assert step.editions.count() == 2


def test_a_name_taken_by_two_at_once_is_taken_by_one(owner):
    results = makers.together(
        *[partial(actions.add_programme, by=owner, once=uuid4(), name="Same weeks") for _ in range(2)]
    )
    assert sorted(isinstance(result, Refused) for result in results) == [False, True], results
    assert Programme.objects.count() == 1
