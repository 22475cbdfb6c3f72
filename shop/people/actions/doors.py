"""Personal codes, shared devices, and ending sign-ins."""

from django.contrib.auth.hashers import make_password

from shop import clock
from shop.people.codes import check_new
from shop.people.doors import end_sessions, end_sign_ins
from shop.people.models import EVERYONE, HANDS, OWNERS, Person, PersonalCode, SharedDevice, SignIn
from shop.people.secrets import digest_of
from shop.press.action import action
from shop.press.rules import words
from shop.refusal import Refused


@action(roles=HANDS)
def set_personal_code(*, by: Person, personal_code: str) -> Person:
    """Set the digits by which one changes places on a shared device. The page asks for the password first."""
    made = make_password(check_new(personal_code))
    PersonalCode.objects.update_or_create(person=by, defaults={"hashed": made, "set_at": clock.now(), "misses": 0})
    return by


@action(roles=OWNERS)
def name_device(*, by: Person, name: str, secret: str) -> SharedDevice:
    """Name the device one holds as shared. `secret` (of secrets.new_secret) goes into its cookie, and is not kept."""
    return SharedDevice.objects.create(
        name=words(name, field="name", longest=60, needed=True),
        digest=digest_of(secret),
        named_by=by,
        named_at=clock.now(),
    )


@action(roles=OWNERS)
def end_device(*, by: Person, device: SharedDevice) -> SharedDevice:
    """It is shared no longer: who is signed in on it is signed out, and codes count nothing on it."""
    fresh = SharedDevice.objects.select_for_update(of=("self",)).get(pk=device.pk)
    if fresh.ended_at:
        raise Refused("It is shared no longer already.")
    fresh.ended_at, fresh.ended_by = clock.now(), by
    fresh.save(update_fields=["ended_at", "ended_by"])
    end_sign_ins(SignIn.objects.filter(device=fresh))
    return fresh


@action(roles=EVERYONE)
def end_sign_in(*, by: Person, sign_in: SignIn) -> SignIn:
    """End one of one's own sign-ins."""
    if sign_in.person_id != by.pk:
        raise Refused("That sign-in is somebody else's.")
    end_sign_ins(SignIn.objects.filter(pk=sign_in.pk))
    sign_in.refresh_from_db()
    return sign_in


@action(roles=EVERYONE)
def end_other_sign_ins(*, by: Person, here_token: str) -> Person:
    """End all of one's own sign-ins but the one whose session has the key `here_token`."""
    end_sessions(by, but=here_token)
    return by
