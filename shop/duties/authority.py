"""Who holds which authority. A higher room registers who does; until one has, roles stand in for it."""

from collections.abc import Callable
from datetime import date

from shop.people.models import ENGINEERS, Person

#: Asked for an act (a slug, "change-cylinder") on a day: the ids of the people who hold the authority for it then.
HoldersQuestion = Callable[[str, date], frozenset[int]]

_question: HoldersQuestion | None = None


def register_holders(question: HoldersQuestion | None) -> None:
    """Let `question(act, day)` say who holds an authority, in place of whoever said so before; None for nobody."""
    global _question
    _question = question


def is_kept() -> bool:
    """Whether the room keeps authorities; if not, owner and engineers count as holding every one."""
    return _question is not None


def holds(person: Person, act: str, day: date) -> bool:
    """Whether this person may do the act on that day. Any who works here may where no act is named."""
    if not act:
        return person.is_active and person.is_hand
    if _question is None:
        return person.is_active and person.role in ENGINEERS
    return person.is_active and person.pk in _question(act, day)
