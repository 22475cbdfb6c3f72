"""Reading all that is on record of one person's training."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from dateutil.relativedelta import relativedelta
from django.db.models import QuerySet

from shop import clock
from shop.people.models import Person
from shop.safety.models import SheetRead
from shop.training.models import Answer, Authority, ReadAgain, SignOff, StepEdition
from shop.training.queries.acts import authorities
from shop.training.queries.programmes import steps_as_signed
from shop.training.queries.progress import Course, courses, enrolments
from shop.training.queries.rules import training_rules


@dataclass(frozen=True)
class SignedLine:
    """A sign-off and its step as it was worded then. counts: it was neither withdrawn nor is it by the same person."""

    sign_off: SignOff
    words: StepEdition | None
    counts: bool

    @property
    def title(self) -> str:
        return self.words.title if self.words is not None else self.sign_off.step.title


@dataclass(frozen=True)
class ReadLine:
    """A version of a sheet that was read; again: it was not for the first time."""

    title: str
    number: int
    at: datetime
    again: bool


@dataclass(frozen=True)
class AnswersLine:
    """The answers to the questions of one step: how many were given, how many were right, and the days of the first
    and the last."""

    title: str
    programme: str
    given: int
    right: int
    first_on: date
    last_on: date


@dataclass(frozen=True)
class TrainingRecord:
    """All of it. held, past: authorities that hold on `day`, and the others; kept_until: the day after which it need
    not be kept any longer by the shop's own rule, None while the person works here."""

    person: Person
    day: date
    courses: list[Course]
    signed: list[SignedLine]
    read: list[ReadLine]
    answers: list[AnswersLine]
    held: list[Authority]
    past: list[Authority]
    keep_years: int
    last_on: date | None
    kept_until: date | None

    @property
    def is_empty(self) -> bool:
        return not (self.courses or self.signed or self.read or self.answers or self.held or self.past)


def sign_offs() -> QuerySet[SignOff]:
    return SignOff.objects.select_related("step__programme", "person", "by", "sheet_version", "withdrawn__by")


def training_record(person: Person) -> TrainingRecord:
    """All that is on record of this person, oldest first. A number of queries that does not grow with it."""
    day = clock.today()
    made = list(sign_offs().filter(person=person).order_by("on", "pk"))
    words = steps_as_signed(made)
    signed = [
        SignedLine(one, words.get(one.pk), not hasattr(one, "withdrawn") and one.by.human != person.human)
        for one in made
    ]
    given = list(authorities().filter(person=person).order_by("starts_on", "pk"))
    held = [one for one in given if _holds(one, day)]
    read, answers = _read(person), _answers(person)
    moments = [clock.day_of(one.at) for one in made] + [clock.day_of(one.at) for one in read]
    last_on = max([*moments, *(one.last_on for one in answers), *(_over(one) for one in given)], default=None)
    rules = training_rules()
    gone = not person.is_active and last_on is not None
    return TrainingRecord(
        person=person,
        day=day,
        courses=courses(enrolments().filter(person=person).order_by("starts_on", "pk")),
        signed=signed,
        read=read,
        answers=answers,
        held=held,
        past=[one for one in given if one not in held],
        keep_years=rules.keep_years,
        last_on=last_on,
        kept_until=last_on + relativedelta(years=rules.keep_years) if gone and last_on is not None else None,
    )


def _holds(one: Authority, day: date) -> bool:
    taken = getattr(one, "withdrawn", None)
    runs = one.starts_on <= day and (one.until is None or one.until >= day)
    return runs and (taken is None or taken.from_day > day)


def _over(one: Authority) -> date:
    """The last day that an authority's line in the record tells of, up to today's at most for one without an end."""
    taken = getattr(one, "withdrawn", None)
    return taken.from_day if taken is not None else min(one.until or clock.today(), clock.today())


def _read(person: Person) -> list[ReadLine]:
    first = SheetRead.objects.filter(by=person).select_related("version")
    again = ReadAgain.objects.filter(person=person).select_related("sheet_version")
    lines = [ReadLine(one.version.title, one.version.number, one.at, False) for one in first]
    lines += [ReadLine(one.sheet_version.title, one.sheet_version.number, one.at, True) for one in again]
    return sorted(lines, key=lambda line: line.at)


def _answers(person: Person) -> list[AnswersLine]:
    by_step: dict[tuple[str, str], list[tuple[date, bool]]] = defaultdict(list)
    told = Answer.objects.filter(person=person).order_by("pk")
    for step, programme, at, right in told.values_list(
        "question__step__title", "question__step__programme__name", "at", "right"
    ):
        by_step[step, programme].append((clock.day_of(at), right))
    return [
        AnswersLine(step, programme, len(days), sum(right for _, right in days), days[0][0], days[-1][0])
        for (step, programme), days in by_step.items()
    ]
