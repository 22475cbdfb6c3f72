"""That whoever signs beside another is who they say: by their password or their personal code, both with brakes."""

from django.http import HttpRequest

from shop.people import codes, doors
from shop.people.models import Person
from shop.refusal import Refused
from shop.training.models import How


def how_of(typed: str) -> How:
    """What was typed: a personal code is a few digits, and no password is so short."""
    digits = codes.digits(typed)
    return How.CODE if digits.isdigit() and len(digits) <= codes.LONGEST else How.PASSWORD


def check(request: HttpRequest, signer: Person, typed: str) -> None:
    """See that it is the signer's own password or personal code. Raises Refused, HeldUp among them.

    Call it outside of any transaction: what was wrong is counted whatever becomes of the rest. The password is tried as
    at the door, with the door's brakes; the second factor is not asked for, since nobody is let in.
    """
    if how_of(typed) == How.CODE:
        codes.check(signer, typed, device=doors.device_of(request))
    elif doors.try_password(request, signer.sign_in, typed) != signer:
        raise Refused(f"That is not the password of {signer.name}.")
