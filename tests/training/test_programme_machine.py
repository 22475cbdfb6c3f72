"""Any sequence of changes to a programme keeps what must always hold: no loop, no word that was signed under lost.

Hypothesis draws the sequence; beside it runs a plain model that knows what each change must come to.
"""

from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    initialize,
    invariant,
    multiple,
    rule,
    run_state_machine_as_test,
)

from shop import clock
from shop.people.models import Person, Role
from shop.refusal import Doubtful, Refused
from shop.training import actions, queries
from shop.training.models import (
    Act,
    Answer,
    ProgrammeChange,
    Question,
    QuestionEdition,
    SignOff,
    Step,
    StepEdition,
)
from shop.training.programmes import Facts, WantedQuestion
from tests import makers

SOME = st.lists(st.integers(0, 30), max_size=3)
TEXTS = st.sampled_from(["Wet it.", "Lift it.", "Wet it, then lift it.", ""])
CHOICES = st.lists(st.sampled_from(["Water", "Sand", "A lid", "Foam"]), min_size=1, max_size=4)


def reaches(needs: dict[int, set[int]], start: int) -> set[int]:
    """Everything before a step, by walking."""
    found: set[int] = set()
    ahead = list(needs[start])
    while ahead:
        one = ahead.pop()
        if one not in found:
            found.add(one)
            ahead += needs[one]
    return found


class Writing(RuleBasedStateMachine):
    """A programme that its owner changes while somebody goes through it, and a clock that only goes forward."""

    steps = Bundle("steps")

    def __init__(self) -> None:
        super().__init__()
        self.around = transaction.atomic()
        self.around._from_testcase = True  # type: ignore[attr-defined]
        self.around.__enter__()
        self.now = datetime(2025, 3, 3, 8, 0, tzinfo=ZoneInfo(makers.ZONE))
        #: What each step needs; what each sign-off and answer was made under, by its number.
        self.needs: dict[int, set[int]] = {}
        self.signed: dict[int, dict[str, Any]] = {}
        self.answered: dict[int, dict[str, Any]] = {}
        self.editions: dict[int, int] = {}

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.around.__exit__(None, None, None)

    @initialize(target=steps)
    def begin(self) -> Any:
        makers.make_room()
        self.owner = makers.make_person("tindrum", "Orla Tindrum", Role.OWNER)
        self.person = makers.make_person("pellow", "Asta Pellow", Role.ASSISTANT)
        self.programme = self.press(actions.add_programme, name="Weeks")
        self.act = Act.objects.create(slug="felt", name="Lay the felt")
        return multiple(
            self.add([], "do", "Wet it.", leads=False, after=None),
            self.add([0], "answer", "", leads=False, after=None),
            self.add([1], "show", "Lift it.", leads=True, after=None),
            self.add([], "show", "", leads=False, after=None),
            self.add([], "do", "", leads=False, after=None),
        )

    def rows(self) -> list[Any]:
        kept = (Step, Question, StepEdition, QuestionEdition, ProgrammeChange)
        needs = sorted(Step.needs.through.objects.values_list("from_step", "to_step"))
        return [*(list(model.objects.order_by("pk").values_list()) for model in kept), needs]

    def press(self, act: Any, **typed: Any) -> Any:
        """Press; what was asked about is confirmed. The sentence of the refusal, which left nothing behind."""
        self.now += timedelta(minutes=1)
        before = self.rows()
        with clock.moved(self.now), clock.in_zone(makers.ZONE):
            try:
                try:
                    return act(by=self.owner, once=uuid4(), **typed)
                except Doubtful as asked:
                    assert self.rows() == before
                    return act(by=self.owner, once=uuid4(), **typed, sure=[one.key for one in asked.doubts])
            except Refused as no:
                sentence = no.sentence
        assert self.rows() == before
        return sentence

    def some(self, numbers: list[int]) -> list[Step]:
        there = list(Step.objects.order_by("pk"))
        return [there[number % len(there)] for number in dict.fromkeys(numbers)] if there else []

    def change(self, pk: int, *, substance: bool = False, **other: Any) -> Any:
        step = Step.objects.get(pk=pk)
        names = (name for name in Facts.__dataclass_fields__ if name != "needs")
        stands = {name: getattr(step, name) for name in names} | {"needs": tuple(step.needs.all())}
        facts = Facts(**(stands | other))
        note = "It is another." if substance else ""
        return self.press(
            actions.change_step, step=step, version=step.version, facts=facts, substance=substance, note=note
        )

    # What the owner does ----------------------------------------------------------------------------------------------

    @rule(target=steps, numbers=SOME, kind=st.sampled_from(["do", "show", "answer"]), how=TEXTS, leads=st.booleans(),
          after=st.none() | st.integers(0, 30))  # fmt: skip
    def add(self, numbers: list[int], kind: str, how: str, leads: bool, after: int | None) -> Any:
        needs = self.some(numbers)
        act = self.act if leads else None
        facts = Facts(kind, f"Step {len(self.needs)}", how=how, act=act, needs=needs, times=2, day=len(needs) + 1)
        behind = self.some([after])[0] if after is not None and self.needs else None
        made = self.press(actions.add_step, programme=self.programme, facts=facts, after=behind)
        stopped = [one for one in needs if not one.is_active]
        if stopped:
            assert "stopped" in made
            return multiple()
        self.needs[made.pk] = {one.pk for one in needs}
        return made.pk

    @rule(pk=steps, number=st.integers(0, 6))
    def rest_on_one(self, pk: int, number: int) -> None:
        self.rest_on(pk, [number])

    @rule(pk=steps, numbers=SOME)
    def rest_on(self, pk: int, numbers: list[int]) -> None:
        needs = self.some(numbers)
        wanted = {one.pk for one in needs}
        told = self.change(pk, needs=needs)
        new_stopped = any(not one.is_active and one.pk not in self.needs[pk] for one in needs)
        goes_round = pk in wanted or any(pk in reaches(self.needs, one) for one in wanted)
        if new_stopped:
            assert "stopped" in told
        elif goes_round:
            assert "loop" in told or "itself" in told
            assert f"“{Step.objects.get(pk=pk).title}”" in told
        elif wanted == self.needs[pk]:
            assert told == "Nothing in it is changed."
        else:
            assert not isinstance(told, str), told
            self.needs[pk] = wanted

    @rule(pk=steps, how=TEXTS, substance=st.booleans())
    def reword(self, pk: int, how: str, substance: bool) -> None:
        before = Step.objects.get(pk=pk)
        told = self.change(pk, how=how, substance=substance)
        if isinstance(told, str):
            assert before.how == how
            assert not substance
        else:
            assert told.edition == before.edition + substance

    @rule(pk=steps, times=st.integers(1, 3))
    def ask_oftener(self, pk: int, times: int) -> None:
        before = Step.objects.get(pk=pk)
        told = self.change(pk, times=times)
        if before.kind == "do" and times != before.times:
            assert told.edition == before.edition + 1
        else:
            assert told == "Nothing in it is changed."

    @rule(pk=steps, after=st.none() | st.integers(0, 30))
    def move(self, pk: int, after: int | None) -> None:
        step = Step.objects.get(pk=pk)
        behind = self.some([after])[0] if after is not None else None
        self.press(actions.move_step, step=step, version=step.version, after=behind)

    @rule(pk=steps)
    def stop_or_take_up(self, pk: int) -> None:
        step = Step.objects.get(pk=pk)
        told = (
            self.press(actions.stop_step, step=step, version=step.version, why="So.")
            if step.is_active
            else self.press(actions.resume_step, step=step, version=step.version)
        )
        assert told.is_active != step.is_active

    @rule(pk=steps, choices=CHOICES, right=st.integers(0, 3), keep=st.booleans(), substance=st.booleans())
    def ask(self, pk: int, choices: list[str], right: int, keep: bool, substance: bool) -> None:
        step = Step.objects.get(pk=pk)
        kept = step.questions.filter(is_active=True).first()
        wanted = WantedQuestion("What puts it out?", choices, right, "Because.", kept.pk if keep and kept else None)
        told = self.press(
            actions.change_questions,
            step=step,
            version=step.version,
            questions=[wanted],
            substance=substance,
            note="It is another." if substance else "",
        )
        good = step.kind == "answer" and 2 <= len(choices) == len(set(choices)) and right < len(choices)
        if not good:
            assert isinstance(told, str)

    # What others do meanwhile -----------------------------------------------------------------------------------------

    @rule(pk=steps)
    def sign(self, pk: int) -> None:
        self.now += timedelta(minutes=1)
        step = Step.objects.get(pk=pk)
        made = SignOff.objects.create(
            step=step,
            edition=step.edition,
            person=self.person,
            on=self.now.date(),
            how="code",
            at=self.now,
            by=self.owner,
        )
        words = {"title": step.title, "how": step.how, "times": step.times, "edition": step.edition}
        self.signed[made.pk] = words | {"needs": [one.title for one in step.needs.order_by("order", "pk")]}

    @rule(pk=steps, chosen=st.integers(0, 1))
    def answer(self, pk: int, chosen: int) -> None:
        self.now += timedelta(minutes=1)
        for one in Question.objects.filter(step=pk):
            made = Answer.objects.create(
                question=one,
                edition=one.edition,
                person=self.person,
                chosen=chosen,
                right=chosen == one.right,
                at=self.now,
            )
            self.answered[made.pk] = {"choices": one.choices, "right": one.right, "edition": one.edition}

    # What always holds ------------------------------------------------------------------------------------------------

    @invariant()
    def nothing_goes_round_and_each_stands_behind_what_it_needs(self) -> None:
        if not self.needs:
            return
        listed = list(Step.objects.order_by("order", "pk").prefetch_related("needs"))
        assert {one.pk for one in listed} == set(self.needs)
        place = {one.pk: number for number, one in enumerate(listed)}
        for one in listed:
            assert {before.pk for before in one.needs.all()} == self.needs[one.pk]
            assert all(place[before] < place[one.pk] for before in self.needs[one.pk])
        assert len({one.order for one in listed}) == len(listed)

    @invariant()
    def what_was_signed_is_read_as_it_was_signed(self) -> None:
        signed = SignOff.objects.all()
        assert {one.pk for one in signed} == set(self.signed)
        as_signed = queries.steps_as_signed(signed)
        for pk, words in self.signed.items():
            assert {name: getattr(as_signed[pk], name) for name in words} == words
        answered = Answer.objects.all()
        assert {one.pk for one in answered} == set(self.answered)
        as_answered = queries.questions_as_answered(answered)
        for pk, words in self.answered.items():
            assert {name: getattr(as_answered[pk], name) for name in words} == words

    @invariant()
    def no_way_to_the_act_leaves_out_what_it_rests_on(self) -> None:
        if not self.needs:
            return
        active = set(Step.objects.filter(is_active=True).values_list("pk", flat=True))
        ends = set(Step.objects.filter(is_active=True, act=self.act).values_list("pk", flat=True))
        asked = {*ends, *(one for end in ends for one in reaches(self.needs, end))} & active
        ways = queries.ways_to(self.act, person=Person(pk=self.person.pk), done=())
        assert {step.pk for way in ways for step in way.missing} == asked

    @invariant()
    def editions_only_count_up(self) -> None:
        for pk, edition in Step.objects.values_list("pk", "edition"):
            assert edition >= self.editions.get(pk, 1)
            self.editions[pk] = edition


@pytest.mark.django_db
def test_any_sequence_of_changes_keeps_a_programme_s_promises():
    run_state_machine_as_test(Writing, settings=settings(max_examples=15, stateful_step_count=18, deadline=None))
