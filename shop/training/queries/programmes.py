"""Reading programmes: their steps by week, what leads to an act, and how a step stood when it was signed."""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, TypeVar

from django.db.models import Count, Exists, IntegerField, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from shop.calc import order
from shop.people.models import Person
from shop.training.models import (
    Act,
    Answer,
    Enrolment,
    Programme,
    ProgrammeChange,
    QuestionEdition,
    SignOff,
    Step,
    StepEdition,
)

Kept = TypeVar("Kept", StepEdition, QuestionEdition)


# A programme as it is written -----------------------------------------------------------------------------------------


def programmes() -> QuerySet[Programme]:
    """All programmes, each with how many steps are asked for and how many people are under way in it."""
    asked = Step.objects.filter(programme=OuterRef("pk"), is_active=True)
    going = Enrolment.objects.filter(programme=OuterRef("pk"), ended_at__isnull=True)
    return Programme.objects.annotate(step_count=_count_of(asked), going=_count_of(going))


def _count_of(rows: QuerySet[Any]) -> Any:
    counted = rows.order_by().values("programme").annotate(number=Count("pk")).values("number")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def acts_by_programme() -> dict[int, list[Act]]:
    """By the number of each programme, the acts that it leads to, in their order. One query."""
    ends = Step.objects.filter(is_active=True, act__is_active=True).select_related("act")
    found: dict[int, dict[int, Act]] = {}
    for step in ends.order_by("act__order", "act__name"):
        if step.act is not None:
            found.setdefault(step.programme_id, {})[step.act.pk] = step.act
    return {pk: list(acts.values()) for pk, acts in found.items()}


def programmes_to(act: Act) -> QuerySet[Programme]:
    """Programmes that lead to an act, and can be begun."""
    ends = Step.objects.filter(programme=OuterRef("pk"), act=act, is_active=True)
    return Programme.objects.filter(Exists(ends), is_active=True)


def under_way_in(programme: Programme) -> list[Enrolment]:
    """Who is under way in it, by name."""
    going = Enrolment.objects.filter(programme=programme, ended_at__isnull=True).select_related("person")
    return sorted(going, key=lambda one: (one.person.name, one.pk))


@dataclass(frozen=True)
class Line:
    """A step in the list of its programme. number: its place among those that are asked for, None for a stopped one.

    needs: the lines right before it. Of one that was stopped, what that needs stands there instead.
    """

    number: int | None
    step: Step
    needs: tuple["Line", ...]

    @property
    def asked(self) -> str:
        """What is asked, in words."""
        times = f", {self.step.times} times" if self.step.times > 1 else ""
        return f"{self.step.get_kind_display()}{times}"


@dataclass(frozen=True)
class Week:
    """Steps that are expected in one week, or without a day (number None) before any that has one."""

    number: int | None
    lines: list[Line]


@dataclass(frozen=True)
class Outline:
    """A programme: its steps by week in their order, and those that were stopped."""

    weeks: list[Week]
    stopped: list[Line]

    @cached_property
    def lines(self) -> list[Line]:
        return [line for week in self.weeks for line in week.lines]

    @property
    def last_day(self) -> int | None:
        return max((line.step.day for line in self.lines if line.step.day is not None), default=None)

    @property
    def ends(self) -> list[Line]:
        """Those that lead to an act."""
        return [line for line in self.lines if line.step.act is not None and line.step.act.is_active]

    @cached_property
    def needs(self) -> dict[int, list[int]]:
        """By number, the numbers of the steps right before."""
        return {line.number: [one.number for one in line.needs] for line in self.lines}  # type: ignore[misc]


def outline(programme: Programme) -> Outline:
    """A programme's steps in their order, each with those that come right before it. Two queries and one."""
    kept = list(Step.objects.filter(programme=programme).select_related("act"))
    needs = needs_of([programme])
    stopped = {step.pk for step in kept if not step.is_active}
    straight = order.without(stopped, needs)
    numbers = {step.pk: number for number, step in enumerate((one for one in kept if one.is_active), 1)}
    steps = {step.pk: step for step in kept}
    lines: dict[int, Line] = {}
    for pk in order.in_order(straight):
        lines[pk] = Line(numbers[pk], steps[pk], tuple(sorted((lines[one] for one in straight[pk]), key=_number)))
    left = [
        Line(None, steps[pk], tuple(lines[one] for one in needs[pk] if one in lines)) for pk in steps if pk in stopped
    ]
    return Outline(_by_week([lines[pk] for pk in numbers]), left)


def _number(line: Line) -> int:
    return line.number or 0


def _by_week(lines: Iterable[Line]) -> list[Week]:
    """The lines in their order, under the latest week so far: a step stays behind those it is listed behind."""
    weeks: list[Week] = []
    week: int | None = None
    for line in lines:
        if line.step.day is not None:
            week = max(week or 1, (line.step.day - 1) // 7 + 1)
        if not weeks or weeks[-1].number != week:
            weeks.append(Week(week, []))
        weeks[-1].lines.append(line)
    return weeks


def needed_by(step: Step) -> list[Step]:
    """The steps that name this one as coming first."""
    return list(step.needed_by.order_by("order", "pk"))


def changes_of(programme: Programme) -> QuerySet[ProgrammeChange]:
    return ProgrammeChange.objects.filter(programme=programme).select_related("by", "step")


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
