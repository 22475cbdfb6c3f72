"""Reading where people stand in their programmes."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.db.models import QuerySet

from shop import clock
from shop.calc.learning import (
    AskedQuestion,
    AskedStep,
    Given,
    QuestionStanding,
    Records,
    Signed,
    Standing,
    Stands,
    Why,
    next_question,
    question_standing,
    stand,
)
from shop.people.models import Person
from shop.safety.models import SheetRead
from shop.safety.queries import versions_in_force
from shop.training.models import (
    SIGNED,
    Answer,
    Enrolment,
    ProgrammeChange,
    Question,
    ReadAgain,
    SignOff,
    Step,
    StepEdition,
    StepKind,
)
from shop.training.queries.acts import AHEAD
from shop.training.queries.programmes import questions_as_answered
from shop.training.wording import standing_words


@dataclass(frozen=True)
class Line:
    """A step of somebody's programme, and how it stands. waits_for, lacks: the steps that its standing names."""

    step: Step
    standing: Standing
    waits_for: tuple[Step, ...] = ()
    lacks: tuple[Step, ...] = ()

    @property
    def asked(self) -> QuestionStanding | None:
        """The question to answer today, if there is one."""
        return (
            next_question(self.standing.questions, clock.today()) if self.standing.stands is not Stands.WAITS else None
        )

    @property
    def words(self) -> str:
        return standing_words(self.step, self.standing, clock.today())

    @property
    def share(self) -> float:
        """How much of it is done, 0 to 1."""
        return min(1.0, self.standing.count / self.standing.of) if self.standing.of else 0.0

    @property
    def soon(self) -> date | None:
        """The day on which what is done comes round again, where that is within a month."""
        due_on = self.standing.due_on
        near = self.standing.stands is Stands.DONE and due_on is not None and due_on - clock.today() <= AHEAD
        return due_on if near else None

    @property
    def is_signed(self) -> bool:
        return self.step.kind in SIGNED

    @property
    def can_be_done(self) -> bool:
        """Whether there is something to do about it today."""
        if self.standing.stands not in (Stands.OPEN, Stands.AGAIN) or self.standing.why is Why.NO_SHEET:
            return False
        return self.step.kind != StepKind.ANSWER or self.asked is not None


@dataclass(frozen=True)
class Course:
    """Where somebody stands in the programme they are enrolled in: its steps in their order."""

    enrolment: Enrolment
    lines: list[Line]

    def _standing(self, *stands: Stands) -> list[Line]:
        return [line for line in self.lines if line.standing.stands in stands]

    @cached_property
    def done(self) -> int:
        """How many steps were done, those that ask again among them."""
        return len(self._standing(Stands.DONE, Stands.AGAIN))

    @property
    def of(self) -> int:
        return len(self.lines)

    @property
    def share(self) -> float:
        return self.done / self.of if self.of else 0.0

    @property
    def words(self) -> str:
        return f"{self.done} of {self.of} steps done"

    @cached_property
    def next(self) -> list[Line]:
        """What can be done now, in the order of the programme, what asks again first."""
        lines = [line for line in self.lines if line.can_be_done]
        return sorted(lines, key=lambda line: line.standing.stands is not Stands.AGAIN)

    @cached_property
    def later(self) -> list[Line]:
        """What waits: for other steps, or for a question to come round."""
        return [line for line in self._standing(Stands.OPEN, Stands.WAITS, Stands.AGAIN) if not line.can_be_done]

    @property
    def again(self) -> list[Line]:
        return self._standing(Stands.AGAIN)

    @cached_property
    def behind(self) -> list[Line]:
        return [line for line in self.lines if line.standing.is_behind]

    @property
    def shaken(self) -> list[Line]:
        """Done steps that rest on something that is not done any more."""
        return [line for line in self.lines if line.lacks]

    def line_of(self, step: Step) -> Line | None:
        return next((line for line in self.lines if line.step.pk == step.pk), None)


def enrolments() -> QuerySet[Enrolment]:
    return Enrolment.objects.select_related("programme", "person", "mentor", "by", "ended_by")


def under_way(person: Person | None = None) -> QuerySet[Enrolment]:
    """Enrolments that were not ended, of those who work here, or of one person."""
    found = enrolments().filter(ended_at__isnull=True, person__is_active=True)
    return (found.filter(person=person) if person is not None else found).order_by("person__name", "starts_on", "pk")


def counting(sign_offs: Iterable[SignOff]) -> list[SignOff]:
    """Those that count: neither withdrawn, nor signed by another account of the same human. Needs `by` and `person`."""
    return [one for one in sign_offs if not hasattr(one, "withdrawn") and one.by.human != one.person.human]


def courses(of: Iterable[Enrolment]) -> list[Course]:
    """Where each of these people stands in the programme of that enrolment. Ten queries, however many they are."""
    enrolled = list(of)
    programmes = {one.programme_id for one in enrolled}
    people = {one.person_id for one in enrolled}
    steps = {
        step.pk: step
        for step in Step.objects.filter(programme__in=programmes)
        .select_related("act", "programme")
        .order_by("order", "pk")
    }
    asked = _asked(steps)
    records = _records(steps, people)
    found = []
    for one in enrolled:
        mine = [step for step in asked.values() if steps[step.key].programme_id == one.programme_id]
        first_day = {step.key: one.starts_on for step in mine}
        standings = stand(mine, records[one.person_id], today=clock.today(), first_day=first_day)
        found.append(Course(one, [_line(steps, standing) for standing in standings.values()]))
    return found


def course_of(enrolment: Enrolment) -> Course:
    return courses([enrolment])[0]


def _line(steps: Mapping[int, Step], standing: Standing) -> Line:
    named = (tuple(steps[key] for key in keys) for keys in (standing.waits_for, standing.lacks))
    return Line(steps[standing.key], standing, *named)


def _asked(steps: Mapping[int, Step]) -> dict[int, AskedStep]:
    """The steps that are asked for, as the calculation takes them, in their order."""
    needs = _needs(steps)
    slugs = {step.sheet for step in steps.values() if step.kind == StepKind.READ}
    in_force = dict(versions_in_force().filter(sheet__slug__in=slugs).values_list("sheet__slug", "number"))
    questions: dict[int, list[AskedQuestion]] = defaultdict(list)
    kept = Question.objects.filter(step__in=steps, is_active=True).order_by("order", "pk")
    for pk, step, edition in kept.values_list("pk", "step", "edition"):
        questions[step].append(AskedQuestion(pk, edition))
    times: dict[int, dict[int, int]] = defaultdict(dict)
    editions = StepEdition.objects.filter(step__in=steps).order_by("pk")
    for pk, edition, count in editions.values_list("step", "edition", "times"):
        times[pk][edition] = count
    return {
        pk: AskedStep(
            key=pk,
            kind=step.kind,
            needs=needs[pk],
            times=step.times,
            edition=step.edition,
            refresh_months=step.refresh_months,
            changed_refreshes=step.changed_refreshes,
            times_of=times[pk],
            in_force=in_force.get(step.sheet),
            questions=tuple(questions[pk]),
            day=step.day,
        )
        for pk, step in steps.items()
        if step.is_active
    }


def _needs(steps: Mapping[int, Step]) -> dict[int, tuple[int, ...]]:
    """What each step needs right before it. A stopped one asks for nothing, but what it needs is needed still."""
    straight: dict[int, list[int]] = defaultdict(list)
    for after, before in Step.needs.through.objects.filter(from_step__in=steps).values_list("from_step", "to_step"):
        straight[after].append(before)

    def active(pk: int, seen: frozenset[int]) -> list[int]:
        found: list[int] = []
        for before in straight[pk]:
            if before in steps and before not in seen:
                found += [before] if steps[before].is_active else active(before, seen | {before})
        return found

    return {pk: tuple(sorted(set(active(pk, frozenset({pk}))), key=list(steps).index)) for pk in steps}


def _records(steps: Mapping[int, Step], people: Collection[int]) -> dict[int, Records]:
    """What is on record of each of these people about these steps."""
    signed: dict[int, dict[int, list[Signed]]] = defaultdict(lambda: defaultdict(list))
    kept = SignOff.objects.filter(step__in=steps, person__in=people).select_related("by", "person", "withdrawn")
    for sign_off in counting(kept.order_by("pk")):
        signed[sign_off.person_id][sign_off.step_id].append(Signed(sign_off.on, sign_off.edition))
    read = _read(steps, people)
    given: dict[int, dict[int, list[Given]]] = defaultdict(lambda: defaultdict(list))
    answers = Answer.objects.filter(question__step__in=steps, person__in=people).order_by("pk")
    for one in answers:
        given[one.person_id][one.question_id].append(Given(clock.day_of(one.at), one.right, one.edition))
    return {pk: Records(signed[pk], read[pk], given[pk]) for pk in people}


def _read(steps: Mapping[int, Step], people: Collection[int]) -> dict[int, dict[int, tuple[int, date]]]:
    """By person and step, the latest version of its sheet that was read, and when."""
    by_slug: dict[str, list[int]] = defaultdict(list)
    for step in steps.values():
        if step.kind == StepKind.READ:
            by_slug[step.sheet].append(step.pk)
    reads = SheetRead.objects.filter(by__in=people, version__sheet__slug__in=by_slug).order_by("version__number")
    found: dict[int, dict[int, tuple[int, date]]] = defaultdict(dict)
    for person, slug, number, at in reads.values_list("by", "version__sheet__slug", "version__number", "at"):
        for pk in by_slug[slug]:
            found[person][pk] = (number, clock.day_of(at))
    again = ReadAgain.objects.filter(person__in=people, step__in=steps).order_by("sheet_version__number", "pk")
    for person, pk, number, at in again.values_list("person", "step", "sheet_version__number", "at"):
        if number >= found[person].get(pk, (0, None))[0]:
            found[person][pk] = (number, clock.day_of(at))
    return found


def done_steps(person: Person, of: Sequence[Course]) -> set[int]:
    """Numbers of the steps that count as done now, as far as an authority goes: none that asks again among them."""
    return {
        line.step.pk
        for course in of
        if course.enrolment.person_id == person.pk
        for line in course.lines
        if line.standing.stands is Stands.DONE
    }


# What one person sees of it -------------------------------------------------------------------------------------------


def changes_since(enrolment: Enrolment) -> list[ProgrammeChange]:
    """What was changed of the programme since this person looked, latest first."""
    found = enrolment.programme.changes.select_related("by", "step")
    seen_at = enrolment.seen_at or enrolment.at
    return list(found.filter(at__gt=seen_at)) if enrolment.ended_at is None else []


def answer_of(person: Person, step: Step, number: str) -> Answer | None:
    """The answer of that number (as typed in an address), if it is this person's and to a question of this step."""
    if not (number.isascii() and number.isdigit() and len(number) < 12):
        return None
    found = Answer.objects.filter(pk=int(number), person=person, question__step=step)
    return found.select_related("question").first()


@dataclass(frozen=True)
class Told:
    """An answer with the question as it was worded then, and when it comes round again, None where it is settled."""

    answer: Answer
    text: str
    chosen: str
    right: str
    reason: str
    again_on: date | None


def told_of(answer: Answer) -> Told:
    """What is told after an answer."""
    words = questions_as_answered([answer]).get(answer.pk)
    question = answer.question
    text, choices, right, reason = (
        (words.text, words.choices, words.right, words.reason)
        if words is not None
        else (question.text, question.choices, question.right, question.reason)
    )
    given = Answer.objects.filter(question=question, person=answer.person, pk__lte=answer.pk).order_by("pk")
    stands = question_standing(
        AskedQuestion(question.pk, answer.edition),
        [Given(clock.day_of(one.at), one.right, one.edition) for one in given],
        today=clock.day_of(answer.at),
    )
    again_on = None if stands.is_settled else stands.due_on
    return Told(answer, text, choices[answer.chosen], choices[right], reason, again_on)
