"""Papers that are made in the background."""

from shop import clock
from shop.jobs.soon import soon
from shop.people.models import HANDS, Paper, Person
from shop.press.action import action
from shop.refusal import Refused
from shop.safety import queries
from shop.safety.models import Binder
from shop.safety.papers import binder


@action(roles=HANDS)
def make_binder(*, by: Person, paper: str, opens: str) -> Binder:
    """Ask for a binder of all sheets in force. One that is being made already is given instead of another.

    paper: of Paper; opens: by which name of the room its codes open. Refuses while no sheet is in force.
    """
    if paper not in Paper.values:
        raise Refused("Choose a paper.", field="paper")
    if not queries.versions_in_force().exists():
        raise Refused("No sheet is in force yet. Have one approved first.")
    going = Binder.objects.filter(paper=paper, opens=opens, made_at=None, why="").first()
    made = going or Binder.objects.create(paper=paper, opens=opens, asked_at=clock.now(), by=by)
    soon(binder.JOB)
    return made
