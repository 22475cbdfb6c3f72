"""Arranges programmes through their actions."""

from collections.abc import Sequence
from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.training import actions
from shop.training.models import Act, Programme, Step
from shop.training.programmes import Facts, WantedQuestion

ONE = WantedQuestion("Which?", ["This", "That", "Neither"], 1, "Because it is that one.")
TWO = WantedQuestion("How many?", ["One", "Two"], 0, "One is enough.")


def begin(owner: Person, name: str = "Second weeks", why: str = "") -> Programme:
    return actions.add_programme(by=owner, once=uuid4(), name=name, why=why)


def facts(title: str, kind: str = "show", **other: Any) -> Facts:
    return Facts(kind=kind, title=title, **other)


def add(owner: Person, programme: Programme, title: str, kind: str = "show", **other: Any) -> Step:
    """after, sure: for the action; the rest are facts."""
    given = {name: other.pop(name) for name in ("after", "sure") if name in other}
    return actions.add_step(by=owner, once=uuid4(), programme=programme, facts=facts(title, kind, **other), **given)


def change(owner: Person, step: Step, *, version: int | None = None, **other: Any) -> Step:
    """The step with these facts otherwise, from how it stands now."""
    fresh = Step.objects.get(pk=step.pk)
    given = {name: other.pop(name) for name in ("substance", "note", "sure") if name in other}
    names = (name for name in Facts.__dataclass_fields__ if name != "needs")
    stands = {name: getattr(fresh, name) for name in names} | {"needs": tuple(fresh.needs.all())}
    return actions.change_step(
        by=owner,
        once=uuid4(),
        step=fresh,
        version=fresh.version if version is None else version,
        facts=Facts(**(stands | other)),
        **given,
    )


def ask(owner: Person, step: Step, questions: Sequence[WantedQuestion], **other: Any) -> Step:
    fresh = Step.objects.get(pk=step.pk)
    return actions.change_questions(
        by=owner, once=uuid4(), step=fresh, version=fresh.version, questions=questions, **other
    )


def stop(owner: Person, step: Step, why: str = "Nobody does it so.", **other: Any) -> Step:
    fresh = Step.objects.get(pk=step.pk)
    return actions.stop_step(by=owner, once=uuid4(), step=fresh, version=fresh.version, why=why, **other)


def resume(owner: Person, step: Step) -> Step:
    fresh = Step.objects.get(pk=step.pk)
    return actions.resume_step(by=owner, once=uuid4(), step=fresh, version=fresh.version)


def move(owner: Person, step: Step, after: Step | None) -> Step:
    fresh = Step.objects.get(pk=step.pk)
    return actions.move_step(by=owner, once=uuid4(), step=fresh, version=fresh.version, after=after)


def titles(programme: Programme) -> list[str]:
    return list(programme.steps.values_list("title", flat=True))


def in_the_world(owner: Person, act: Act) -> tuple[Programme, Step]:
    """A programme with a step of questions, changed once, that leads to the act."""
    programme = begin(owner)
    asks = add(owner, programme, "Questions: the felt", "answer", needs=[add(owner, programme, "Watch it", "watch")])
    ask(owner, asks, [ONE, TWO])
    add(owner, programme, "Show it", needs=[asks], act=act, day=9)
    return programme, change(owner, asks, why="It tears.", substance=True, note="The felt is another.")
