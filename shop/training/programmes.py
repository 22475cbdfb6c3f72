"""What a programme's steps and questions may say: checked here, for actions of more than one kind."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from shop.calc import order
from shop.press.rules import words
from shop.refusal import Refused
from shop.training.models import Act, Programme, Question, Step, StepKind

#: A programme longer than this is several.
MOST_STEPS = 200
MOST_QUESTIONS = 24
#: How many choices a question has.
CHOICES = (2, 4)
LONGEST_CHOICE = 200
#: The latest day by which a step is expected, and the most often that it is done.
LAST_DAY = 730
MOST_TIMES = 100
#: The longest until it comes round again, in months.
MOST_MONTHS = 120


@dataclass(frozen=True)
class Facts:
    """A step as it was told. needs: the steps that come first; the rest are columns of the step."""

    kind: str
    title: str
    why: str = ""
    how: str = ""
    goes_wrong: str = ""
    source: str = ""
    times: int | None = None
    sheet: str = ""
    act: Act | None = None
    day: int | None = None
    refresh_months: int | None = None
    changed_refreshes: bool = True
    needs: Sequence[Step] = field(default_factory=tuple)


#: The facts that are columns of the step, and how a change of each is told.
COLUMNS: dict[str, str] = {
    "kind": "what kind of step it is",
    "title": "its title",
    "why": "why it matters",
    "how": "how it is done",
    "goes_wrong": "what goes wrong",
    "source": "where it is from",
    "times": "how often it is done",
    "sheet": "its hazard sheet",
    "act": "the act it leads to",
    "day": "by when it is expected",
    "refresh_months": "when it comes round again",
    "changed_refreshes": "whether a change asks again",
}
#: A change of these is always one of substance: something else is asked than before.
OF_SUBSTANCE = ("kind", "times")


def checked(facts: Facts, programme: Programme, step: Step | None = None) -> Facts:
    """The facts as they are kept. step: which is changed, None for a new one. Refused with the field that is wrong.

    Whoever calls holds the programme's row, so that nobody else closes a loop meanwhile.
    """
    if facts.kind not in StepKind.values:
        raise Refused("Choose one.", field="kind")
    if facts.kind == StepKind.READ and not facts.sheet:
        raise Refused("Choose the sheet that is read.", field="sheet")
    if facts.act is not None and not facts.act.is_active and facts.act != (step and step.act):
        raise Refused("That act is stopped; nobody is asked for it.", field="act")
    return replace(
        facts,
        title=words(facts.title, field="title", longest=100, needed=True),
        why=words(facts.why, field="why", longest=500),
        how=lines(facts.how, field="how", longest=3000),
        goes_wrong=lines(facts.goes_wrong, field="goes_wrong", longest=1000),
        source=words(facts.source, field="source", longest=200),
        times=_within(facts.times or 1, MOST_TIMES, field="times") if facts.kind == StepKind.DO else 1,
        day=_within(facts.day, LAST_DAY, field="day"),
        refresh_months=_within(facts.refresh_months, MOST_MONTHS, field="refresh_months"),
        needs=_checked_needs(facts.needs, programme, step),
    )


def lines(text: str, *, field: str, longest: int) -> str:
    """Text of a line a point, without empty lines and space around them."""
    tidied = [" ".join(line.split()) for line in text.splitlines()]
    said = "\n".join(line for line in tidied if line)
    if len(said) > longest:
        raise Refused(f"Keep it to {longest} characters; these are {len(said)}.", field=field)
    return said


def _within(number: int | None, most: int, *, field: str) -> int | None:
    if number is not None and not 1 <= number <= most:
        raise Refused(f"Give 1 to {most}.", field=field)
    return number


def _checked_needs(wanted: Iterable[Step], programme: Programme, step: Step | None) -> tuple[Step, ...]:
    steps = {one.pk: one for one in programme.steps.prefetch_related("needs")}
    before = {one.pk for one in step.needs.all()} if step is not None else set()
    chosen = {one.pk for one in wanted}
    for one in wanted:
        if one.pk not in steps:
            raise Refused("That step is of another programme. Choose among this one's.", field="needs")
        if not steps[one.pk].is_active and one.pk not in before:
            raise Refused(f"“{one.title}” is stopped: take it up again, or choose another.", field="needs")
    if step is not None:  # a new one is needed by nothing yet
        needs: dict[int, Collection[int]] = {pk: [need.pk for need in one.needs.all()] for pk, one in steps.items()}
        needs[step.pk] = [pk for pk in steps if pk in chosen]
        if loop := order.find_loop(needs):
            raise Refused(loop_told([steps[pk].title for pk in loop]), field="needs")
    return tuple(one for pk, one in steps.items() if pk in chosen)


def loop_told(titles: Sequence[str]) -> str:
    """A loop in words, each step followed by the one that it needs."""
    if len(titles) == 1:
        return f"“{titles[0]}” can't need itself."
    round_it = [*titles, titles[0]]
    told = ", ".join(f"“{after}” needs “{before}”" for after, before in pairwise(round_it))
    return f"That goes round in a loop, and nobody could begin: {told}."


# Questions ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class WantedQuestion:
    """A question as it was told. kept: the one that it is of, by its number; None for a new one. right: from 0."""

    text: str
    choices: Sequence[str]
    right: int | None
    reason: str
    kept: int | None = None


def checked_questions(wanted: Sequence[WantedQuestion], kept: Mapping[int, Question]) -> list[WantedQuestion]:
    """Questions as they are kept. Refused with the row that is wrong, "questions.2.reason"."""
    if len(wanted) > MOST_QUESTIONS:
        raise Refused(f"A step has at most {MOST_QUESTIONS} questions; make it two steps.", field="questions")
    if not wanted:
        raise Refused("Ask at least one question. To ask none, stop the step.", field="questions")
    told = [_checked_question(one, f"questions.{place}", kept) for place, one in enumerate(wanted)]
    texts = [one.text.casefold() for one in told]
    for place, text in enumerate(texts):
        if text in texts[:place]:
            raise Refused("This is asked above already.", field=f"questions.{place}.text")
    numbers = [one.kept for one in told if one.kept is not None]
    if len(set(numbers)) != len(numbers):
        raise Refused("The page lost track of its rows. Open it afresh.", field="questions")
    return told


def _checked_question(one: WantedQuestion, row: str, kept: Mapping[int, Question]) -> WantedQuestion:
    if one.kept is not None and one.kept not in kept:
        raise Refused("The page lost track of its rows. Open it afresh.", field="questions")
    text = words(one.text, field=f"{row}.text", longest=300, needed=True)
    choices = [words(said, field=f"{row}.choice{n}", longest=LONGEST_CHOICE) for n, said in enumerate(one.choices, 1)]
    while choices and not choices[-1]:
        choices.pop()
    least, most = CHOICES
    if len(choices) < least or "" in choices:
        number = choices.index("") + 1 if "" in choices else len(choices) + 1
        raise Refused(f"Give {least} to {most} choices, from the first on.", field=f"{row}.choice{number}")
    if len(choices) > most:
        raise Refused(f"Give {least} to {most} choices.", field=f"{row}.choice{most}")
    folded = [said.casefold() for said in choices]
    for number, said in enumerate(folded):
        if said in folded[:number]:
            raise Refused("Two choices are the same.", field=f"{row}.choice{number + 1}")
    if one.right is None or not 0 <= one.right < len(choices):
        raise Refused("Say which of the choices is right.", field=f"{row}.right")
    reason = words(one.reason, field=f"{row}.reason", longest=500)
    if not reason:
        raise Refused("Say why: it is told after each answer.", field=f"{row}.reason")
    return WantedQuestion(text, choices, one.right, reason, one.kept)
