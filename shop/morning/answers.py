"""Answers on their way into a check, and what they make one worry about."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from shop.concern import Concern, Grade
from shop.morning.models import Answer, AnswerKind, Question
from shop.refusal import Refused

CHANGED_LIST = "The room's list was changed while this page was open. Look through it once more and press again."
#: How the keys of concerns about answers begin.
OWN_KEYS = ("morning:no:", "morning:left-out:")


@dataclass(frozen=True)
class Given:
    """One answer as it was given: yes or no for a yes or no; a value (stored unit) for a reading, or a note why not."""

    question: Question
    yes: bool | None = None
    value: float | None = None
    note: str = ""

    @property
    def wants_note(self) -> bool:
        """Whether a note belongs to it: a no says what was found, a reading left out says why."""
        return self.yes is not True and self.value is None


def field_name(question: Question) -> str:
    """The form field that a question is answered in, and that refusals about it name."""
    return f"q{question.pk}"


def in_full(given: Iterable[Given], questions: Iterable[Question]) -> list[Given]:
    """The answers in the order of the list, each with its question as it now stands.

    A note typed before the answer became a yes or a reading is left out: it was about what is no longer so. Refused
    where a question has no answer, or one that does not fit it, or where the list is another by now.
    """
    by_question = {answer.question.pk: answer for answer in given}
    listed = list(questions)
    if not listed:
        raise Refused("The room's list has no questions yet. An engineer adds them first.")
    if by_question.keys() != {question.pk for question in listed}:
        raise Refused(CHANGED_LIST)
    answers = []
    for question in listed:
        answer = by_question[question.pk]
        note = answer.note.strip() if answer.wants_note else ""
        if question.kind == AnswerKind.YES_NO:
            if answer.yes is None or answer.value is not None:
                raise Refused("Answer yes or no.", field=field_name(question))
        elif answer.yes is not None or (answer.value is None and not note):
            raise Refused("Give the reading, or say why it can't be read.", field=field_name(question))
        answers.append(Given(question=question, yes=answer.yes, value=answer.value, note=note))
    return answers


def concerns_of_answers(answers: Iterable[Answer]) -> list[Concern]:
    """A concern for each "no" and each reading left out, of the grade the question gives it."""
    link = reverse("morning:correct-latest-check")
    found = []
    for answer in answers:
        if answer.yes is False:
            headline = f"“{answer.text}” No."
            reason = f"Noted: {answer.note}" if answer.note else "That was the answer at the check."
            key, otherwise = f"morning:no:{answer.question_id}", "Put it right, then bring the check up to date."
        elif answer.was_left_out:
            headline = f"{answer.text} was not read"
            reason = f"Noted: {answer.note}"
            key, otherwise = f"morning:left-out:{answer.question_id}", "Read it, then bring the check up to date."
        else:
            continue
        found.append(
            Concern(
                key=key,
                grade=Grade(answer.grade_if_no),
                subject=answer.place or "Morning check",
                headline=headline,
                reason=reason,
                what_to_do=answer.what_to_do or otherwise,
                link=link,
            )
        )
    return found
