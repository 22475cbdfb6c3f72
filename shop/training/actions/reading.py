"""Reading a sheet once more, where a step's refresher asks for it."""

from shop import clock
from shop.calc.learning import Stands, Why
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.refusal import Changed, Refused
from shop.safety.queries import versions_in_force
from shop.training.models import Enrolment, ReadAgain, Step, StepKind
from shop.training.queries.progress import course_of


@action(roles=HANDS)
def read_again(*, by: Person, step: Step) -> ReadAgain:
    """Say that one has read the sheet of a step once more, when its refresher is due; the first time is said there."""
    enrolment = (
        Enrolment.objects.select_for_update(of=("self",))
        .filter(programme=step.programme_id, person=by, ended_at__isnull=True)
        .first()
    )
    line = course_of(enrolment).line_of(step) if enrolment is not None else None
    if line is None or step.kind != StepKind.READ:
        raise Refused("It is not asked of you.")
    if line.standing.stands is not Stands.AGAIN or line.standing.why is not Why.TIME:
        raise Changed("It is not due. A version you have not read yet is confirmed on the sheet's own page.")
    version = versions_in_force().filter(sheet__slug=step.sheet).first()
    if version is None:
        raise Changed("No version of the sheet is in force now.")
    return ReadAgain.objects.create(step=step, sheet_version=version, person=by, at=clock.now())
