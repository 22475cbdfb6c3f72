"""Reading programmes: what leads to an act, and how a step stood when it was signed."""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from django.db.models import Q

from shop.calc import order
from shop.people.models import Person
from shop.training.models import (
    Act,
    Answer,
    Programme,
    QuestionEdition,
    SignOff,
    Step,
    StepEdition,
)

Kept = TypeVar("Kept", StepEdition, QuestionEdition)


# What leads to an act -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Way:
    """How a programme leads to an act: every step of it that the act rests on, in an order in which they can be done.

    missing: those among them that are not done.
    """

    programme: Programme
    steps: list[Step]
    missing: list[Step]


def needs_of(programmes: Iterable[Programme | int]) -> dict[int, list[int]]:
    """For each step of these programmes, in their order, those that it needs: numbers of steps. Two queries.

    The stopped are among them: what is needed through one that was stopped is still needed.
    """
    steps = Step.objects.filter(programme__in=list(programmes)).order_by("programme", "order", "pk")
    found: dict[int, list[int]] = {pk: [] for pk in steps.values_list("pk", flat=True)}
    between = Step.needs.through.objects.filter(from_step__programme__in=list(programmes)).order_by("to_step")
    for after, before in between.values_list("from_step", "to_step"):
        found[after].append(before)
    return found


def ways_to(act: Act, *, person: Person, done: Collection[int]) -> list[Way]:
    """What is missing before this person may be given this act, in each programme that leads to it. Four queries.

    done: numbers of the steps that count as done for them. One way without anything missing is enough; no way at all
    means that no programme leads there, and only the owner gives it. A stopped programme leads there for those who are
    still under way in it. A stopped step asks for nothing, but what comes before it is asked for all the same.
    """
    under_way = Q(programme__enrolments__person=person, programme__enrolments__ended_at__isnull=True)
    ends = Step.objects.filter(Q(programme__is_active=True) | under_way, act=act, is_active=True).distinct()
    by_programme: dict[int, list[int]] = {}
    for pk, programme in ends.values_list("pk", "programme"):
        by_programme.setdefault(programme, []).append(pk)
    if not by_programme:
        return []
    needs = needs_of(by_programme)
    wanted = {programme: order.way_to(pks, needs) for programme, pks in by_programme.items()}
    every = [pk for pks in wanted.values() for pk in pks]
    steps = Step.objects.filter(pk__in=every, is_active=True).select_related("programme").in_bulk()
    ways = []
    for pks in wanted.values():
        on_the_way = [steps[pk] for pk in pks if pk in steps]
        ways.append(Way(on_the_way[0].programme, on_the_way, [step for step in on_the_way if step.pk not in done]))
    return sorted(ways, key=lambda way: (len(way.missing), way.programme.name))


# As it stood ----------------------------------------------------------------------------------------------------------


def _then(kept: Iterable[Kept], edition: int, at: datetime) -> Kept | None:
    """The words that stood at that moment: of that edition the latest until then, else its first, else any latest."""
    same = [one for one in kept if one.edition == edition]
    until = [one for one in same if one.at <= at]
    return until[-1] if until else same[0] if same else max(kept, key=lambda one: one.pk, default=None)


def _by_owner(kept: Iterable[Kept], owner: Callable[[Kept], int]) -> dict[int, list[Kept]]:
    found: dict[int, list[Kept]] = {}
    for one in kept:
        found.setdefault(owner(one), []).append(one)
    return found


def steps_as_signed(sign_offs: Iterable[SignOff]) -> dict[int, StepEdition]:
    """By the number of each sign-off, its step as it was worded when that was signed. One query."""
    signed = list(sign_offs)
    kept = StepEdition.objects.filter(step__in={one.step_id for one in signed}).order_by("pk")
    of = _by_owner(kept, lambda one: one.step_id)
    found = {one.pk: _then(of.get(one.step_id, []), one.edition, one.at) for one in signed}
    return {pk: words for pk, words in found.items() if words is not None}


def questions_as_answered(answers: Iterable[Answer]) -> dict[int, QuestionEdition]:
    """By the number of each answer, its question as it was worded then. One query."""
    given = list(answers)
    kept = QuestionEdition.objects.filter(question__in={one.question_id for one in given}).order_by("pk")
    of = _by_owner(kept, lambda one: one.question_id)
    found = {one.pk: _then(of.get(one.question_id, []), one.edition, one.at) for one in given}
    return {pk: words for pk, words in found.items() if words is not None}
