"""Whatever is done in whatever order: no authority comes by sign-off past a step, and no record is ever lost."""

from contextlib import suppress
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop import clock
from shop.people.models import Person
from shop.refusal import Refused
from shop.training import actions
from shop.training.models import (
    Act,
    Answer,
    Authority,
    Enrolment,
    Programme,
    Question,
    SignOff,
    SignOffWithdrawn,
    Step,
)
from tests.training import makers

#: Three steps that lead to an act, one of them twice, and a question; a fourth step beside them leads nowhere.
TOLD = ("watch:Exits", "answer:What burns", "do:Wet the chip", "show:Empty the trap", "talk:The day")

DEEDS = st.lists(
    st.one_of(
        st.tuples(st.just("sign"), st.integers(0, 4), st.booleans()),
        st.tuples(st.just("sign"), st.just(3), st.just(True)),
        st.tuples(st.just("answer"), st.booleans(), st.none()),
        st.tuples(st.just("withdraw"), st.integers(0, 9), st.none()),
        st.tuples(st.just("change"), st.integers(0, 4), st.booleans()),
        st.tuples(st.just("days"), st.integers(1, 40), st.none()),
        st.tuples(st.just("leave"), st.none(), st.none()),
        st.tuples(st.just("enrol"), st.none(), st.none()),
    ),
    min_size=4,
    max_size=12,
)

#: What leads there if it is done in order: so that it is given in many of the examples.
STRAIGHT = [
    ("sign", 0, False),
    ("answer", True, None),
    ("sign", 2, False),
    ("sign", 2, False),
    ("sign", 3, True),
]


class Story:
    """A room in which things are done; `counted` keeps beside the program what is on record, and what counts."""

    def __init__(self, owner: Person, engineer: Person, assistant: Person) -> None:
        self.engineer, self.assistant = engineer, assistant
        self.act = makers.make_act(owner, "Empty the trap alone", months=12)
        self.programme = makers.make_programme(*TOLD)
        self.steps = list(self.programme.steps.all())
        exits, answers, wet, trap, _ = self.steps
        Step.objects.filter(pk=wet.pk).update(times=2)
        Step.objects.filter(pk=trap.pk).update(act=self.act)
        wet.needs.add(exits, answers)
        trap.needs.add(wet)
        self.question = makers.make_question(answers)
        self.now = clock.now()

    def do(self, deed: str, what, more) -> None:
        with clock.moved(self.now), suppress(Refused):
            getattr(self, deed)(what, more)

    def sign(self, place, give):
        step = Step.objects.get(pk=self.steps[place].pk)
        makers.sign(self.engineer, step, self.assistant, give=give, sure=["before"])

    def answer(self, right, _):
        makers.answer(self.assistant, Question.objects.get(), right=right)

    def withdraw(self, place, _):
        made = list(SignOff.objects.order_by("pk"))
        if made:
            one = made[place % len(made)]
            actions.withdraw_sign_off(by=self.engineer, once=uuid4(), sign_off=one, why="Looked at again.")

    def change(self, place, asks_again):
        step = Step.objects.get(pk=self.steps[place].pk)
        Step.objects.filter(pk=step.pk).update(edition=step.edition + 1, changed_refreshes=asks_again)

    def days(self, number, _):
        self.now += timedelta(days=number)

    def leave(self, *_):
        for one in Enrolment.objects.filter(ended_at__isnull=True):
            actions.end_enrolment(by=self.engineer, once=uuid4(), enrolment=one, version=one.version, why="Away.")

    def enrol(self, *_):
        makers.enrol(self.engineer, self.programme, self.assistant)

    def records(self):
        tables = (SignOff, SignOffWithdrawn, Answer, Authority, Enrolment)
        return {table: set(table.objects.values_list("pk", flat=True)) for table in tables}

    def done_by_hand(self) -> bool:
        """Whether all that leads to the act is on record and counts: reckoned without the program's own calculation."""
        counting = SignOff.objects.filter(withdrawn__isnull=True)
        exits, _, wet, trap, _ = self.steps
        signed = [counting.filter(step=step).count() for step in (exits, wet, trap)]
        told = list(Answer.objects.order_by("pk").values_list("right", flat=True))
        right_since = told[::-1].index(False) if False in told else len(told)
        return signed[0] >= 1 and signed[1] >= 2 and signed[2] >= 1 and right_since >= (3 if False in told else 1)


@pytest.mark.django_db
@settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(before=st.booleans(), deeds=DEEDS)
def test_no_order_of_deeds_gives_an_authority_past_a_step_or_loses_a_record(owner, engineer, assistant, before, deeds):
    around = transaction.atomic()
    around._from_testcase = True  # it counts as a test's: the actions' own outermost transactions may be inside it
    with around:
        story = Story(owner, engineer, assistant)
        story.do("enrol", None, None)
        kept = story.records()
        for deed in [*(STRAIGHT if before else []), *deeds]:
            given_before = set(Authority.objects.values_list("pk", flat=True))
            story.do(*deed)
            now = story.records()
            for table, rows in kept.items():
                assert rows <= now[table], f"{deed} lost a record of {table.__name__}"
            kept = now
            for one in Authority.objects.exclude(pk__in=given_before):
                assert one.sign_off is not None
                assert story.done_by_hand(), f"{deed} gave it past a step"
            with clock.moved(story.now):
                if deed[0] == "withdraw":
                    held = Authority.objects.filter(withdrawn__isnull=True, until__gte=clock.today())
                    assert story.done_by_hand() or not held.exists(), f"{deed} left an authority on nothing"
        transaction.set_rollback(True)
    assert Programme.objects.count() == Act.objects.count() == 0
