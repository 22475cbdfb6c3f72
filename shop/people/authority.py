"""Who may do what alone. A higher room keeps authorities and says so here; where none is kept for an act, roles decide.

An act is a slug ("change-cylinder"). Actions that need one are dressed with `needs`; without it somebody may do them
only under the eye of one who has it, whom the record then names.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date
from functools import wraps
from typing import Any, TypeVar

from shop import clock
from shop.people.models import ENGINEERS, Person, Role
from shop.refusal import NotAllowed, Refused

R = TypeVar("R")

#: Asked for an act on a day: the ids of the people who hold the authority for it then; None where none is kept for it.
HoldersQuestion = Callable[[str, date], frozenset[int] | None]

#: Asked for the acts that the room keeps authorities for: what each is called, by its slug.
ActsQuestion = Callable[[], Mapping[str, str]]

_question: HoldersQuestion | None = None
_acts: ActsQuestion | None = None


def register_holders(question: HoldersQuestion | None) -> None:
    """Let `question(act, day)` say who holds an authority, in place of whoever said so before; None for nobody."""
    global _question
    _question = question


def register_acts(question: ActsQuestion | None) -> None:
    """Let `question()` say which acts there are to choose from, in place of whoever said so before; None for nobody."""
    global _acts
    _acts = question


def acts() -> dict[str, str]:
    """What each act is called that may be asked for, by slug."""
    return dict(_acts()) if _acts is not None else {}


def _holders(act: str, day: date) -> frozenset[int] | None:
    return _question(act, day) if _question is not None else None


#: Acts that only people of some roles do, whoever else would hold the authority: their roles, by slug.
_only: dict[str, frozenset[str]] = {}


def keep_to(act: str, roles: Collection[str]) -> None:
    """Let only people of these roles hold the act: its action takes no others."""
    _only[act] = frozenset(roles)


def is_open_to(person: Person, act: str) -> bool:
    """Whether this person's role may hold the act at all."""
    return person.role in _only.get(act, (person.role,))


def only_words(act: str) -> str:
    """Which roles the act is kept to: "owners and engineers"; "" where it is for all who work here."""
    return " and ".join(f"{role.label.lower()}s" for role in Role if role in _only.get(act, ()))


def is_kept(act: str) -> bool:
    """Whether the room keeps authorities for the act; if not, owner and engineers count as holding it."""
    return _holders(act, clock.today()) is not None


def holds(person: Person, act: str, day: date) -> bool:
    """Whether this person may do the act alone on that day. Any who works here may where no act is named."""
    return bool(holding([person], act, day))


def holding(people: Iterable[Person], act: str, day: date) -> list[Person]:
    """Those of these people who may do the act alone on that day: `holds`, asked once for all."""
    holders = _holders(act, day) if act else None
    if not act or holders is None:
        return [person for person in people if _holds_by_role(person, act)]
    return [person for person in people if person.is_active and person.pk in holders and is_open_to(person, act)]


def _holds_by_role(person: Person, act: str) -> bool:
    """Whether this person may do the act where no authority is kept for it."""
    return person.is_active and (person.role in ENGINEERS if act else person.is_hand)


def act_words(act: str) -> str:
    """An act in words: "change cylinder"."""
    return act.replace("-", " ").replace("_", " ")


def check(act: str, *, by: Person, under: Person | None, day: date) -> None:
    """Refuse somebody who may not do it alone, and a watching eye that may not watch."""
    if under is not None:
        if under.pk == by.pk:
            raise Refused("Name somebody else, or nobody: you can't watch yourself.", field="under")
        if not holds(under, act, day):
            what = f"the authority “{act_words(act)}”" if act else "a place among those who work here"
            raise Refused(f"{under.name} does not have {what}. Name somebody who has.", field="under")
    elif not holds(by, act, day):
        raise Refused(
            f"It needs the authority “{act_words(act)}”, which you don't have. Do it under the eye of somebody who "
            "has, and name them here.",
            field="under",
        )


def needs(act: str, *, otherwise: Collection[str] | None = None) -> Callable[[Callable[..., R]], Callable[..., R]]:
    """For an action, below `@action`: where the room keeps authorities for `act`, it takes one, or `under=` the eye of
    somebody who has it. `under` goes to the record with what else was given; the function does not get it.

    otherwise: the roles that it takes as long as no authority for it is kept, where those are fewer than the action's;
    the others get NotAllowed. `admits` of what is dressed says whether it takes a person at all.
    """

    def admits(person: Any) -> bool:
        return otherwise is None or getattr(person, "role", "") in otherwise or is_kept(act)

    def dress(function: Callable[..., R]) -> Callable[..., R]:
        @wraps(function)
        def run(*, by: Person, under: Person | None = None, **typed: Any) -> R:
            if is_kept(act):
                check(act, by=by, under=under, day=clock.today())
            elif not admits(by):
                raise NotAllowed
            return function(by=by, **typed)

        run.needs = act  # type: ignore[attr-defined]
        run.admits = admits  # type: ignore[attr-defined]
        return run

    return dress
