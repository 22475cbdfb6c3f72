"""Personal codes: digits by which somebody changes places on a shared device, or signs beside another person.

A code is short, so it counts only where the device is known and tries are braked, by person and device; after twenty
wrong ones in a row it sleeps until the person has come in with the password, which nobody else's misses can stop.
"""

from itertools import pairwise

from django.contrib.auth.hashers import check_password
from django.db.models import F

from shop.people import brakes
from shop.people.brakes import HeldUp as HeldUp
from shop.people.models import Person, PersonalCode
from shop.refusal import Refused

SHORTEST, LONGEST = 6, 12
#: Wrong ones in a row after which a code sleeps (our own figure; NIST SP 800-63B-4, 3.2.2, allows 100 at most).
SLEEPS_AFTER = 20


class NoCode(Refused):
    """The person has no code, or may not sign in."""


class WrongCode(Refused):
    """It is not their code."""


class CodeAsleep(Refused):
    """Too many wrong ones in a row: the password wakes it."""


def check(person: Person, code: str, *, device: str) -> None:
    """See that `code` is this person's own, typed on `device` (doors.device_of(request) gives what to say for it).

    Raises NoCode, WrongCode, CodeAsleep or HeldUp, each a Refused at the field "code". Call it before the action that
    rests on it, outside of any transaction: what was wrong must be counted whatever becomes of the rest.
    """
    braked = {brakes.of_person("code", person, device): brakes.CLOSE}
    kept = PersonalCode.objects.filter(person=person).first()
    if kept is None or not person.is_active:
        raise NoCode(f"{person.name} has no personal code yet, or may not sign in.", field="code")
    if kept.misses >= SLEEPS_AFTER:
        raise CodeAsleep(
            f"There were too many wrong codes for {person.name}. It works again once {person.name} has signed in "
            "with the password.",
            field="code",
        )
    try:
        brakes.take(braked, person)
    except HeldUp as held:
        raise HeldUp(held.wait, field="code") from held
    # counted before it is looked at: any number of tries at once cannot be more than are left
    counted = PersonalCode.objects.filter(pk=kept.pk, misses__lt=SLEEPS_AFTER).update(misses=F("misses") + 1)
    if not counted or not check_password(digits(code), kept.hashed):
        raise WrongCode(f"That is not the code of {person.name}.", field="code")
    PersonalCode.objects.filter(pk=kept.pk).update(misses=0)
    brakes.passed(braked)


def wake(person: Person) -> None:
    """The person came in with the password: wrong codes before that count no more."""
    PersonalCode.objects.filter(person=person, misses__gt=0).update(misses=0)


def digits(typed: str) -> str:
    """What was typed without blanks, which people put in to read it."""
    return "".join(typed.split())


def check_new(typed: str) -> str:
    """A code fit to be kept; Refused for one that is too short, or that would be tried first."""
    code = digits(typed)
    if not (code.isascii() and code.isdigit() and SHORTEST <= len(code) <= LONGEST):
        raise Refused(f"Give {SHORTEST} to {LONGEST} digits.", field="personal_code")
    if _is_poor(code):
        raise Refused(
            "That one would be tried first: the same few digits, a run, or a pattern. Take another.",
            field="personal_code",
        )
    return code


def _is_poor(code: str) -> bool:
    """Few digits, runs up or down, and one piece over and over."""
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(code)}
    return len(set(code)) < 3 or len(steps) == 1 or code in (code + code)[1:-1]
