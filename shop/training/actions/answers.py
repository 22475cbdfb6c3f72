"""Answering a programme's questions."""

from shop import clock
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.refusal import Changed, Refused
from shop.training.models import Answer, Enrolment, Question
from shop.training.queries.progress import course_of
from shop.training.wording import QUESTION_CHANGED
from shop.wording import in_full


@action(roles=HANDS)
def answer_question(*, by: Person, question: Question, edition: int, chosen: int) -> Answer:
    """Answer one question of a programme one goes through. edition: as it was shown; chosen: the index of a choice.

    Refuses one that is not asked now: of a step that waits for others, settled, or coming round on a later day.
    """
    enrolment = (
        Enrolment.objects.select_for_update(of=("self",))
        .filter(programme=question.step.programme_id, person=by, ended_at__isnull=True)
        .first()
    )
    if enrolment is None:
        raise Refused("You do not go through this programme now.")
    fresh = Question.objects.get(pk=question.pk)
    if not (fresh.is_active and fresh.step.is_active and fresh.step.programme.is_active):
        raise Changed("This question is not asked any more.")
    if fresh.edition != edition:
        raise Changed(QUESTION_CHANGED)
    if not 0 <= chosen < len(fresh.choices):
        raise Refused("Choose one.", field="chosen")
    line = course_of(enrolment).line_of(fresh.step)
    assert line is not None
    if line.waits_for:
        raise Refused(f"First comes: {', '.join(step.title for step in line.waits_for)}.")
    standing = next(one for one in line.standing.questions if one.key == fresh.pk)
    if standing.is_settled:
        raise Changed("You have answered it; it is settled.")
    if standing.due_on is not None and standing.due_on > clock.today():
        raise Changed(f"You have answered it for now; it comes round again on {in_full(standing.due_on)}.")
    return Answer.objects.create(
        question=fresh,
        edition=fresh.edition,
        person=by,
        chosen=chosen,
        right=chosen == fresh.right,
        at=clock.now(),
    )
