"""How steps and questions were worded when somebody signed or answered: kept whenever they change, and found again."""

from collections.abc import Iterable
from datetime import datetime

from shop import clock
from shop.people.models import Person
from shop.training.models import Question, QuestionEdition, Step, StepEdition

_OF_STEP = ("edition", "kind", "title", "why", "how", "goes_wrong", "source", "times", "sheet")
_OF_QUESTION = ("edition", "text", "choices", "right", "reason")


def keep_step(step: Step, *, by: Person | None, at: datetime | None = None) -> StepEdition:
    """Keep a step as it is worded now, with the titles of what it needs. For actions, after each change."""
    return StepEdition.objects.create(
        step=step,
        **{name: getattr(step, name) for name in _OF_STEP},
        act_name=step.act.name if step.act else "",
        needs=list(step.needs.order_by("order", "pk").values_list("title", flat=True)),
        at=at or clock.now(),
        by=by,
    )


def keep_questions(questions: Iterable[Question], *, by: Person | None, at: datetime | None = None) -> None:
    """Keep questions as they are worded now."""
    at = at or clock.now()
    QuestionEdition.objects.bulk_create(
        QuestionEdition(question=one, **{name: getattr(one, name) for name in _OF_QUESTION}, at=at, by=by)
        for one in questions
    )


def begin() -> None:
    """Keep what came with the room as it came: all that was never kept before."""
    at = clock.now()
    steps = Step.objects.filter(editions__isnull=True).select_related("act").prefetch_related("needs")
    StepEdition.objects.bulk_create(
        StepEdition(
            step=step,
            **{name: getattr(step, name) for name in _OF_STEP},
            act_name=step.act.name if step.act else "",
            needs=[before.title for before in step.needs.all()],
            at=at,
        )
        for step in steps
    )
    keep_questions(Question.objects.filter(editions__isnull=True), by=None, at=at)
