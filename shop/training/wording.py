"""How a step stands, in words."""

from datetime import date

from shop.calc.learning import Standing, Stands, Why
from shop.training.models import Step, StepKind
from shop.wording import in_full

NOT_SIGNED = "Nobody signs this step: it is done once the sheet is read, or the questions are answered."
QUESTION_CHANGED = "The question was changed while it stood here. Read it again, and answer it as it is now."


def standing_words(step: Step, standing: Standing, today: date) -> str:
    """A sentence without its stop: "Done on 3 March 2026", "2 of 3 times done", "Waits"."""
    if standing.stands is Stands.AGAIN:
        return _again(standing)
    if standing.stands is Stands.DONE:
        return f"Done on {in_full(standing.on)}" if standing.on is not None else "Done"
    if standing.why is Why.NO_SHEET:
        return "Its sheet is not in force yet; somebody has to approve it first"
    if step.kind == StepKind.ANSWER:
        return _answered(standing, today)
    if standing.of > 1:
        return f"{standing.count} of {standing.of} times done"
    return "Waits" if standing.stands is Stands.WAITS else "Open"


def _again(standing: Standing) -> str:
    if standing.why is Why.CHANGED:
        return "Asked for once more: it was changed since"
    if standing.why is Why.SHEET:
        return "To be read again: a newer version of the sheet is in force"
    if standing.why is Why.QUESTIONS:
        return "Questions come round again"
    assert standing.due_on is not None
    return f"Due again since {in_full(standing.due_on)}"


def _answered(standing: Standing, today: date) -> str:
    if not standing.of:
        return "It has no questions yet"
    told = f"{standing.count} of {standing.of} questions settled"
    if standing.due_on is not None and standing.due_on > today:
        return f"{told}; the next comes round on {in_full(standing.due_on)}"
    return told
