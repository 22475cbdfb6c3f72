"""Arranges training through its actions."""

from typing import Any
from uuid import uuid4

from shop import clock
from shop.people.models import Person
from shop.training import actions
from shop.training.models import Act, Answer, Authority, Enrolment, How, Programme, Question, SignOff, Step
from tests.makers import make_person


def make_act(by: Person, name: str = "Trim the felt", **other: Any) -> Act:
    return actions.add_act(by=by, once=uuid4(), name=name, **other)


def give(owner: Person, act: Act, person: Person, **other: Any) -> Authority:
    facts = {"note": "Seen at it."} | other
    return actions.give_authority(by=owner, once=uuid4(), act=act, person=person, **facts)


# Going through a programme --------------------------------------------------------------------------------------------


def make_programme(*steps: str, name: str = "First weeks", **other: Any) -> Programme:
    """A programme of steps told as "do:Wet the chip", each needing nothing; other: columns for all of them."""
    programme = Programme.objects.create(name=name)
    for place, told in enumerate(steps, start=1):
        kind, _, title = told.partition(":")
        Step.objects.create(programme=programme, order=place * 10, kind=kind, title=title, **other)
    return programme


def step_of(programme: Programme, title: str) -> Step:
    return Step.objects.get(programme=programme, title=title)


def make_question(step: Step, text: str = "What puts it out?", right: int = 1, **other: Any) -> Question:
    facts = {"choices": ["Sand", "Plenty of water", "A lid"], "reason": "It burns without air; water cools it."} | other
    return Question.objects.create(step=step, text=text, right=right, **facts)


def enrol(by: Person, programme: Programme, person: Person, **other: Any) -> Enrolment:
    return actions.enrol(by=by, once=uuid4(), programme=programme, person=person, **other)


def sign(signer: Person, step: Step, person: Person, **other: Any) -> SignOff:
    edition = Step.objects.get(pk=step.pk).edition
    facts = {"edition": edition, "on": clock.today(), "how": How.CODE, "signed_in": person} | other
    return actions.sign_off(by=signer, once=uuid4(), step=step, person=person, **facts)


def answer(person: Person, question: Question, *, right: bool) -> Answer:
    chosen = question.right if right else (question.right + 1) % len(question.choices)
    return actions.answer_question(by=person, once=uuid4(), question=question, edition=question.edition, chosen=chosen)


def build(owner: Person, signer: Person | None = None) -> dict[str, list[Any]]:
    """For the house's tests: a programme of the owner's own with one record of everything, and what the addresses take.

    signer: who signs there; somebody new if not told.
    """
    programme = make_programme("watch:Walk the exits", "answer:What burns", "read:The lamp", name="Three days")
    exits, asks, lamp = programme.steps.all()
    question = make_question(asks)
    make_question(asks, "What if it smoulders?")
    other = signer or make_person("signer", "Sid Ogner", "engineer")
    course = enrol(owner, programme, owner, mentor=other)
    signed = sign(other, exits, owner)
    answer(owner, question, right=True)
    return {
        **{f"training:{name}": [] for name in ("next", "board", "enrol", "my-training-record")},
        **{f"training:{name}": [] for name in ("my-training-record-pdf", "change-training-rules")},
        **{
            f"training:{name}": [course.pk]
            for name in ("enrolment", "change-enrolment", "end-enrolment", "see-changes")
        },
        "training:card": [course.pk, exits.pk],
        "training:sign-off": [course.pk, exits.pk],
        "training:withdraw-sign-off": [signed.pk],
        "training:answer-question": [asks.pk],
        "training:read-again": [lamp.pk],
        "training:training-record": [owner.pk],
        "training:training-record-pdf": [owner.pk],
    }
