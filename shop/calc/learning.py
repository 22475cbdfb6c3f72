"""Where somebody stands in a programme: which steps are done, which are open, wait for others or come round again.

A step is done by as many sign-offs as it asks for, by having read the sheet that is in force, or by having answered its
questions. What was done once stays done for what rests on it; it asks again where its refresher is due, where it was
changed in substance since, or where a newer version of its sheet is in force. What asks again is not done as far as an
authority goes.

Wrong answers come round again after GAPS days, each counted from the answer before. That practice spread over days
keeps better than the same practice at once is an old finding of memory research; these days are our own.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from enum import StrEnum

from dateutil.relativedelta import relativedelta

#: After a wrong answer the question comes round again after so many days, and after each right one then the next.
GAPS = (1, 3, 7)

READ, ANSWER = "read", "answer"


class Stands(StrEnum):
    """How a step stands. AGAIN: it was done, and is asked for once more."""

    DONE = "done"
    AGAIN = "again"
    OPEN = "open"
    WAITS = "waits"


class Why(StrEnum):
    """Why a step asks again, or cannot be done."""

    CHANGED = "changed"
    TIME = "time"
    SHEET = "sheet"
    QUESTIONS = "questions"
    NO_SHEET = "no sheet"


@dataclass(frozen=True)
class AskedQuestion:
    key: int
    edition: int = 1


@dataclass(frozen=True)
class AskedStep:
    """A step as it is asked for now.

    needs: keys of the steps before it; times: how many sign-offs it takes, and times_of: how many it took in earlier
    editions, where that is known; refresh_months: after so many it comes round again; in_force: the number of the
    sheet's version in force, for a step that is read; questions: for one that is answered; day: of the programme, from
    1, by which it is expected.
    """

    key: int
    kind: str
    needs: tuple[int, ...] = ()
    times: int = 1
    edition: int = 1
    refresh_months: int | None = None
    changed_refreshes: bool = True
    times_of: Mapping[int, int] = field(default_factory=dict)
    in_force: int | None = None
    questions: tuple[AskedQuestion, ...] = ()
    day: int | None = None


@dataclass(frozen=True)
class Signed:
    """A sign-off that counts: when it was done, and the edition of the step then."""

    on: date
    edition: int = 1


@dataclass(frozen=True)
class Given:
    """An answer that was given to a question of that edition."""

    on: date
    right: bool
    edition: int = 1


@dataclass(frozen=True)
class Records:
    """What is on record of one person: sign-offs by step, the latest version read by step and when, and answers by
    question, each in the order in which they were made."""

    signed: Mapping[int, Sequence[Signed]] = field(default_factory=dict)
    read: Mapping[int, tuple[int, date]] = field(default_factory=dict)
    given: Mapping[int, Sequence[Given]] = field(default_factory=dict)


@dataclass(frozen=True)
class QuestionStanding:
    """How a question stands. is_settled: it need not be answered now; due_on: from when it is asked (None: never
    again); asked: how often it was answered under this edition; was_right, was_settled: ever, under any."""

    key: int
    is_settled: bool
    due_on: date | None
    asked: int = 0
    was_right: bool = False
    was_settled: bool = False


@dataclass(frozen=True)
class Standing:
    """How a step stands for a person.

    count, of: times signed, or questions settled, of how many; on, edition: when it was last done, and under which;
    why: why it asks again, or can't be done; due_on: when it comes round again or did; waits_for: what has to be done
    first; lacks: what it rests on and is not done any more, though it was done itself; expected_on: its day;
    is_behind: that is over.
    """

    key: int
    stands: Stands
    count: int = 0
    of: int = 1
    on: date | None = None
    edition: int | None = None
    why: Why | None = None
    due_on: date | None = None
    waits_for: tuple[int, ...] = ()
    lacks: tuple[int, ...] = ()
    expected_on: date | None = None
    is_behind: bool = False
    questions: tuple[QuestionStanding, ...] = ()

    @property
    def was_done(self) -> bool:
        """Whether what rests on it may go on."""
        return self.stands in (Stands.DONE, Stands.AGAIN)


def question_standing(
    question: AskedQuestion, given: Iterable[Given], *, today: date, refresh_months: int | None = None
) -> QuestionStanding:
    """How one question stands. given: the answers to it, first first; those to another edition settle nothing now.

    Right at once settles it. A wrong answer has it come round after GAPS[0] days, and after each right one then after
    the next of GAPS; right at the last, it is settled. A wrong one in between begins anew.
    """
    place: int | None = None
    settled_on: date | None = None
    due_on: date | None = None
    asked, was_right, was_settled = 0, False, False
    for one in given:
        was_right = was_right or one.right
        if one.edition != question.edition:
            was_settled = was_settled or one.right
            continue
        asked += 1
        if not one.right:
            place, settled_on = 0, None
        elif place is None or place == len(GAPS) - 1:
            place, settled_on = None, one.on
        else:
            place += 1
        was_settled = was_settled or settled_on is not None
        due_on = None if place is None else one.on + timedelta(days=GAPS[place])
    if settled_on is not None and refresh_months is not None:
        due_on = settled_on + relativedelta(months=refresh_months)
    is_settled = settled_on is not None and (due_on is None or today < due_on)
    return QuestionStanding(question.key, is_settled, due_on, asked, was_right, was_settled)


def next_question(questions: Iterable[QuestionStanding], today: date) -> QuestionStanding | None:
    """The question to ask today: first what comes round again, longest due first, then what was never asked."""
    due = [one for one in questions if not one.is_settled and (one.due_on is None or one.due_on <= today)]
    return min(due, key=lambda one: one.due_on or date.max, default=None)


def _read(step: AskedStep, read: tuple[int, date] | None, today: date) -> Standing:
    if read is None:
        why = Why.NO_SHEET if step.in_force is None else None
        return Standing(step.key, Stands.OPEN, why=why)
    number, on = read
    if step.in_force is not None and number < step.in_force:
        return Standing(step.key, Stands.AGAIN, on=on, why=Why.SHEET)
    due_on = on + relativedelta(months=step.refresh_months) if step.refresh_months else None
    if due_on is not None and due_on <= today:
        return Standing(step.key, Stands.AGAIN, on=on, why=Why.TIME, due_on=due_on)
    return Standing(step.key, Stands.DONE, count=1, on=on, due_on=due_on)


def _answered(step: AskedStep, records: Records, today: date) -> Standing:
    stand = tuple(
        question_standing(one, records.given.get(one.key, ()), today=today, refresh_months=step.refresh_months)
        for one in step.questions
    )
    settled = [one for one in stand if one.is_settled]
    unsettled = [one for one in stand if not one.is_settled]
    days = [one.on for question in step.questions for one in records.given.get(question.key, ())]
    coming = [one.due_on for one in (unsettled or settled) if one.due_on is not None]
    stands, why = Stands.OPEN, None
    if stand and not unsettled:
        stands = Stands.DONE
    elif stand and all(one.was_settled for one in unsettled):
        stands, why = Stands.AGAIN, Why.QUESTIONS
    return Standing(
        step.key,
        stands,
        count=len(settled),
        of=len(stand),
        on=max(days, default=None),
        why=why,
        due_on=min(coming, default=None),
        questions=stand,
    )


def _signed(step: AskedStep, signed: Iterable[Signed], today: date) -> Standing:
    made = sorted(signed, key=lambda one: (one.edition, one.on))
    wanted = {**step.times_of, step.edition: step.times}
    complete = any(count >= wanted.get(one.edition, step.times) for count, one in enumerate(made, start=1))
    count = len(made)
    if not complete:
        return Standing(step.key, Stands.OPEN, count=count, of=step.times)
    on, edition = max(one.on for one in made), made[-1].edition
    due_on = on + relativedelta(months=step.refresh_months) if step.refresh_months else None
    why = None
    if step.changed_refreshes and edition < step.edition:
        why = Why.CHANGED
    elif due_on is not None and due_on <= today:
        why = Why.TIME
    stands = Stands.AGAIN if why else Stands.DONE
    return Standing(step.key, stands, count=count, of=step.times, on=on, edition=edition, why=why, due_on=due_on)


def stand(
    steps: Iterable[AskedStep], records: Records, *, today: date, first_day: Mapping[int, date] | None = None
) -> dict[int, Standing]:
    """How each step stands for one person. Needs that are not among the steps ask for nothing.

    first_day: by step, the person's first day in its programme, for when each is expected; without it, none is late.
    """
    asked = {step.key: step for step in steps}
    alone: dict[int, Standing] = {}
    for key, step in asked.items():
        if step.kind == READ:
            alone[key] = _read(step, records.read.get(key), today)
        elif step.kind == ANSWER:
            alone[key] = _answered(step, records, today)
        else:
            alone[key] = _signed(step, records.signed.get(key, ()), today)
    return {key: _among(step, alone, today, (first_day or {}).get(key)) for key, step in asked.items()}


def _among(step: AskedStep, alone: Mapping[int, Standing], today: date, first_day: date | None) -> Standing:
    """A step's standing with what it rests on, and with its day."""
    found = alone[step.key]
    unmet = tuple(key for key in step.needs if key in alone and not alone[key].was_done)
    expected_on = first_day + timedelta(days=step.day - 1) if first_day is not None and step.day else None
    if found.was_done:
        return replace(found, lacks=unmet, expected_on=expected_on)
    answered = step.kind == ANSWER and all(one.was_right for one in found.questions)
    is_behind = expected_on is not None and expected_on < today and not answered and found.why is not Why.NO_SHEET
    stands = Stands.WAITS if unmet else Stands.OPEN
    return replace(found, stands=stands, waits_for=unmet, expected_on=expected_on, is_behind=is_behind)
