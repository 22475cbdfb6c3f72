"""What can be done about people, their settings and the room."""

from django.contrib.sessions.models import Session

from shop import clock
from shop.people.models import EVERYONE, OWNERS, Person, Role, Room
from shop.people.queries import the_room
from shop.people.rules import check_currency, check_email, check_name, check_password, check_sign_in, check_zone
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read
from shop.refusal import Refused

UNIT_FIELDS = ("pressure_unit", "temperature_unit", "liquid_unit", "length_unit")


#: Said where another person has that sign-in name, also by a moment only.
_TAKEN = "Somebody here has that sign-in name already. Choose another."


def _end_sessions(person: Person) -> None:
    """Sign the person out everywhere, for good: a session left over must not come alive again with the person."""
    for session in Session.objects.select_for_update().iterator():
        if session.get_decoded().get("_auth_user_id") == str(person.pk):
            session.delete()


@action(roles=OWNERS)
def add_person(*, by: Person, name: str, sign_in: str, role: str, password: str, email: str = "") -> Person:
    """Let somebody in: with a first password, which they should change, and the room's units to start with.

    Refuses a sign-in name that is taken and a password the rules refuse.
    """
    room = the_room()
    person = Person(
        name=check_name(name),
        sign_in=not_taken(Person, check_sign_in(sign_in), sentence=_TAKEN, field="sign_in"),
        role=Role(role),
        email=check_email(email),
        made_at=clock.now(),
        **{unit: getattr(room, unit) for unit in UNIT_FIELDS},
    )
    person.set_password(check_password(password, person))
    with one_of_its_name(_TAKEN, field="sign_in"):  # another owner may be faster by a moment
        person.save()
    return person


@action(roles=OWNERS)
def change_person(
    *, by: Person, person: Person, version: int, name: str, role: str, is_active: bool, email: str = ""
) -> Person:
    """Change a person's name, role, or whether they may sign in; switching off ends their sessions.

    Refuses to leave the room without an owner who can sign in. Raises Changed if somebody changed the person since
    `version`.
    """
    # all owners, in one order, so that two of them demoting each other at the same moment cannot both succeed
    owners = list(Person.objects.select_for_update().filter(role=Role.OWNER, is_active=True).order_by("pk"))
    fresh = still_as_read(person, version)
    stays_owner = role == Role.OWNER and is_active
    if not stays_owner and owners == [fresh]:
        raise Refused(
            "The room needs one owner who can sign in. Make somebody else an owner first.",
            field="role" if role != Role.OWNER else "is_active",
        )
    fresh.name, fresh.role, fresh.is_active = check_name(name), Role(role), is_active
    fresh.email = check_email(email)
    fresh.version += 1
    fresh.save(update_fields=["name", "role", "is_active", "email", "version"])
    if not is_active:
        _end_sessions(fresh)
    return fresh


@action(roles=OWNERS)
def set_password(*, by: Person, person: Person, password: str) -> Person:
    """Give somebody who forgot theirs a new password; their sessions end."""
    fresh = Person.objects.select_for_update().get(pk=person.pk)
    fresh.set_password(check_password(password, fresh))
    fresh.save(update_fields=["password"])
    _end_sessions(fresh)
    return fresh


@action(roles=EVERYONE)
def change_password(*, by: Person, old_password: str, password: str) -> Person:
    """Change one's own password. Sessions elsewhere end, for their fingerprint no longer fits."""
    fresh = Person.objects.select_for_update().get(pk=by.pk)
    if not fresh.check_password(old_password):
        raise Refused("That is not your password now.", field="old_password")
    fresh.set_password(check_password(password, fresh))
    fresh.save(update_fields=["password"])
    return fresh


@action(roles=EVERYONE)
def change_settings(
    *, by: Person, pressure_unit: str, temperature_unit: str, liquid_unit: str, length_unit: str
) -> Person:
    """Choose the units one reads and types. What is stored does not change."""
    fresh = Person.objects.select_for_update().get(pk=by.pk)
    fresh.pressure_unit, fresh.temperature_unit = pressure_unit, temperature_unit
    fresh.liquid_unit, fresh.length_unit = liquid_unit, length_unit
    fresh.save(update_fields=UNIT_FIELDS)
    return fresh


@action(roles=OWNERS)
def change_room(
    *,
    by: Person,
    version: int,
    name: str,
    zone: str,
    currency: str,
    paper: str,
    pressure_unit: str,
    temperature_unit: str,
    liquid_unit: str,
    length_unit: str,
) -> Room:
    """Change the room's name, zone, currency, paper, or the units a new person starts with.

    Times are stored in UTC, so another zone changes how past times are shown, not when they were. Raises Changed if
    somebody changed the room since `version`.
    """
    room = still_as_read(Room(pk=1), version)
    room.name, room.zone = check_name(name), check_zone(zone)
    room.currency, room.paper = check_currency(currency), paper
    room.pressure_unit, room.temperature_unit = pressure_unit, temperature_unit
    room.liquid_unit, room.length_unit = liquid_unit, length_unit
    room.version += 1
    room.save()
    return room
