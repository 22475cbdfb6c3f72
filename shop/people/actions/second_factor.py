"""Turning the second factor on and off."""

from collections.abc import Sequence

from shop import clock
from shop.people.models import EVERYONE, OWNERS, Person, RecoveryCode, SecondFactor
from shop.people.queries import the_room
from shop.press.action import action
from shop.refusal import Refused

Hashed = Sequence[tuple[str, str]]


def _keep_recovery(person: Person, recovery: Hashed) -> None:
    RecoveryCode.objects.filter(person=person).delete()
    RecoveryCode.objects.bulk_create(RecoveryCode(person=person, slot=slot, hashed=made) for slot, made in recovery)


@action(roles=EVERYONE)
def turn_on_second_factor(*, by: Person, sealed_secret: str, step: int, recovery: Hashed) -> Person:
    """From now on signing in asks for a code too.

    sealed_secret: the app's, sealed (secrets.sealed); step: that of the code by which it was shown to have it;
    recovery: slot and hash of ten codes (second_factor.hashed).
    """
    fresh = Person.objects.select_for_update().get(pk=by.pk)
    if fresh.second_factor_at:
        raise Refused("It is on already. To move it to another phone, turn it off first.")
    now = clock.now()
    SecondFactor.objects.filter(person=fresh).delete()
    SecondFactor.objects.create(person=fresh, sealed=sealed_secret, made_at=now, last_step=step)
    _keep_recovery(fresh, recovery)
    fresh.second_factor_at = now
    fresh.save(update_fields=["second_factor_at"])
    return fresh


def _turn_off(person: Person) -> Person:
    fresh = Person.objects.select_for_update().get(pk=person.pk)
    if not fresh.second_factor_at:
        raise Refused("It is off already.")
    SecondFactor.objects.filter(person=fresh).delete()
    RecoveryCode.objects.filter(person=fresh).delete()
    fresh.second_factor_at = None
    fresh.save(update_fields=["second_factor_at"])
    return fresh


@action(roles=EVERYONE)
def turn_off_second_factor(*, by: Person) -> Person:
    """Signing in asks for the password alone again. The page asks for the password first. Refuses an owner where the
    room wants it."""
    if by.is_owner and the_room().owners_need_second_factor:
        raise Refused("Owners of this room need it. To move it to another phone, have another owner take it off.")
    fresh = _turn_off(by)
    return fresh


@action(roles=OWNERS)
def take_off_second_factor(*, by: Person, person: Person) -> Person:
    """For somebody who lost both the phone and the recovery codes; see first that it is them who ask. It is kept who
    did it. Refuses one's own: that is turned off with the password."""
    if person.pk == by.pk:
        raise Refused("Your own is turned off on your own page, with your password.")
    fresh = _turn_off(person)
    return fresh


@action(roles=EVERYONE)
def renew_recovery_codes(*, by: Person, recovery: Hashed) -> Person:
    """Ten fresh codes; the old ones stop at once. The page asks for the password first."""
    fresh = Person.objects.select_for_update().get(pk=by.pk)
    if not fresh.second_factor_at:
        raise Refused("There is no second factor to recover. Turn it on first.")
    _keep_recovery(fresh, recovery)
    return fresh
