"""Who in the demo room may do what alone."""

from datetime import date, timedelta

from shop.demo.hands import Hands
from shop.people.models import Person
from shop.training import actions
from shop.training.models import Act

#: What the assistant was trusted with from the start; it runs out soon after the story ends.
_ASSISTANTS = ("vacuum-line", "change-cylinder")


def give_trust(hands: Hands, today: date, *, owner: Person, engineer: Person, assistant: Person) -> None:
    """On the first day: the owner and the engineer may do everything alone, the assistant a little."""
    later = today + timedelta(days=400)
    for act in Act.objects.filter(is_active=True):
        for person, why in ((owner, "Opened this room."), (engineer, "Eleven years at the lathe before this room.")):
            hands.do(actions.give_authority, by=owner, act=act, person=person, until=later, note=why)
        if act.slug in _ASSISTANTS:
            hands.do(
                actions.give_authority,
                by=owner,
                act=act,
                person=assistant,
                until=today + timedelta(days=19),
                note="Shown at the last room, and seen here.",
            )
