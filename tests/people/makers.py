"""Makers of what is at the door: invitations, shared devices, sign-ins, second factors, personal codes."""

from typing import Any
from uuid import uuid4

from shop import clock
from shop.people import actions, second_factor
from shop.people.models import HowIn, Invitation, Person, SharedDevice, SignIn
from shop.people.secrets import new_secret, sealed

#: A personal code that is none of the poor ones.
CODE = "482 915"


def make_invitation(owner: Person, *, secret: str = "", **other: Any) -> Invitation:
    typed = {"name": "Ilse Brandt-Okoro", "role": "assistant", "email": ""} | other
    return actions.invite_person(by=owner, once=uuid4(), secret=secret or new_secret(), **typed)


def make_device(owner: Person, name: str = "The tablet by the lathe", *, secret: str = "") -> SharedDevice:
    return actions.name_device(by=owner, once=uuid4(), name=name, secret=secret or new_secret())


def make_sign_in(person: Person, *, key: str = "", words: str = "Firefox on Linux") -> SignIn:
    now = clock.now()
    return SignIn.objects.create(
        person=person, how=HowIn.PASSWORD, words=words, key=key or f"key-{uuid4().hex}", since=now, seen_at=now
    )


def make_second_factor(person: Person) -> tuple[str, list[str]]:
    """Turn it on for them; give the secret and the recovery codes. No code of now is used up."""
    secret = second_factor.new_secret()
    shown = [str(code) for code in second_factor.new_recovery_codes()]
    actions.turn_on_second_factor(
        by=person,
        once=uuid4(),
        sealed_secret=sealed(secret),
        step=second_factor.step_now() - 2,
        recovery=second_factor.hashed(shown),
    )
    person.refresh_from_db()
    return secret, shown


def code_now(secret: str, later: int = 0) -> str:
    """The app's code now, or so many steps later."""
    return second_factor.code_at(secret, second_factor.step_now() + later)


def make_code(person: Person, code: str = CODE) -> None:
    actions.set_personal_code(by=person, once=uuid4(), personal_code=code)
