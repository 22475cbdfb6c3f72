"""What became of nitrogen that went and that nothing explained."""

from datetime import datetime

from shop import clock
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import words
from shop.refusal import Refused
from shop.room import queries
from shop.room.models import Cylinder, ExplainedLoss


@action(roles=ENGINEERS)
def explain_loss(*, by: Person, cylinder: Cylinder, until: datetime, what: str) -> ExplainedLoss:
    """Write down what the gas that went was; all that is open of the cylinder is then no worry any more.

    until: the moment of the gauge reading that showed the latest loss, as the person saw it. Refused without words,
    where nothing is open, and where another loss came since: it may be something else.
    """
    what = words(what, field="what", longest=300, needed=True)
    held = Cylinder.objects.select_for_update().get(pk=cylinder.pk)
    lost = queries.losses_of(held).open
    if not lost:
        raise Refused(f"Nothing that went from {held.mark} is open any more. Look at its page again.")
    if lost[-1].last.at != until:
        raise Refused(f"The gauge of {held.mark} tells something else by now. Look at what went again.")
    return ExplainedLoss.objects.create(
        cylinder=held,
        until=until,
        gone_g=1000 * sum(each.gone_kg for each in lost),
        what=what,
        at=clock.now(),
        by=by,
    )
