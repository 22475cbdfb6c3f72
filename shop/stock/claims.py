"""What will be taken from stock but is still on the shelf: higher rooms say so here (cutting: its open bookings)."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Claim:
    """Blanks that something will need.

    blank_in: their size in inches; quantity: how many; day: when they are to be cut; label, link: what needs them, in
    a few words, and the path of its page.
    """

    blank_in: int
    quantity: int
    day: date
    label: str
    link: str


#: Asked with today's day: everything still claimed then, whether due earlier, that day or later.
ClaimsQuestion = Callable[[date], Iterable[Claim]]

_questions: dict[str, ClaimsQuestion] = {}


def register_claims(name: str, question: ClaimsQuestion) -> None:
    """Let `question(day)` be asked for what is claimed. Registering a name again replaces it."""
    _questions[name] = question


def all_claims(day: date) -> list[Claim]:
    """Everything claimed as seen on `day`, soonest first."""
    found = [claim for question in _questions.values() for claim in question(day)]
    return sorted(found, key=lambda claim: (claim.day, claim.label))
