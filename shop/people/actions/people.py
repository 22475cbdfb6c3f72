"""What can be done about people and their settings."""

from shop import clock
from shop.people.doors import end_sessions
from shop.people.models import EVERYONE, OWNERS, Person, Role, ToldApart
from shop.people.queries import the_room
from shop.people.rules import check_email, check_name, check_password, check_sign_in
from shop.press.action import action
from shop.press.rules import not_taken, one_of_its_name, still_as_read
from shop.refusal import Refused

UNIT_FIELDS = ("pressure_unit", "temperature_unit", "liquid_unit", "length_unit")

#: Said where another person has that sign-in name, also by a moment only.
TAKEN = "Somebody here has that sign-in name already. Choose another."


def make_person(*, name: str, sign_in: str, role: str, password: str, email: str) -> Person:
    """A person with the room's units to start with; for the actions that let one in, inside their transaction."""
    room = the_room()
    person = Person(
        name=check_name(name),
        sign_in=not_taken(Person, check_sign_in(sign_in), sentence=TAKEN, field="sign_in"),
        role=Role(role),
        email=check_email(email),
        made_at=clock.now(),
        **{unit: getattr(room, unit) for unit in UNIT_FIELDS},
    )
    person.set_password(check_password(password, person))
    with one_of_its_name(TAKEN, field="sign_in"):  # another may be faster by a moment
        person.save()
    return person


@action(roles=OWNERS)
def add_person(*, by: Person, name: str, sign_in: str, role: str, password: str, email: str = "") -> Person:
    """Let somebody in: with a first password, which they should change, and the room's units to start with.

    Refuses a sign-in name that is taken and a password the rules refuse.
    """
    return make_person(name=name, sign_in=sign_in, role=role, password=password, email=email)


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
        end_sessions(fresh)
    return fresh


@action(roles=OWNERS)
def set_password(*, by: Person, person: Person, password: str) -> Person:
    """Give somebody who forgot theirs a new password; their sessions end."""
    fresh = Person.objects.select_for_update().get(pk=person.pk)
    fresh.set_password(check_password(password, fresh))
    fresh.save(update_fields=["password"])
    end_sessions(fresh)
    return fresh


@action(roles=EVERYONE)
def change_password(*, by: Person, old_password: str, password: str, here_token: str = "") -> Person:
    """Change one's own password. Sessions elsewhere end; the one of the key `here_token` goes on."""
    fresh = Person.objects.select_for_update().get(pk=by.pk)
    if not fresh.check_password(old_password):
        raise Refused("That is not your password now.", field="old_password")
    fresh.set_password(check_password(password, fresh))
    fresh.save(update_fields=["password"])
    end_sessions(fresh, but=here_token)
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
def settle_same(*, by: Person, person: Person, other: Person, same: bool) -> Person:
    """Say whether two accounts belong to one human. Of those that do, the oldest stands for all.

    Nobody signs off for themselves, and that goes by the human (`Person.human`), not by the account.
    """
    if person.pk == other.pk:
        raise Refused("Choose another account than this one.", field="other")
    rows = {row.pk: row for row in Person.objects.select_for_update().order_by("pk")}
    one, two = rows[person.pk], rows[other.pk]
    pair = {"first_id": min(one.pk, two.pk), "second_id": max(one.pk, two.pk)}
    if same:
        if one.human != two.human:
            _join([row for row in rows.values() if row.human in (one.human, two.human)])
        ToldApart.objects.filter(**pair).delete()
    else:
        if one.human == two.human:
            _part(one, [row for row in rows.values() if row.human == one.human])
        ToldApart.objects.get_or_create(**pair, defaults={"by": by, "at": clock.now()})
    return one


def _join(accounts: list[Person]) -> None:
    first = min(accounts, key=lambda row: row.pk)
    for row in accounts:
        row.same_as = None if row.pk == first.pk else first
        row.save(update_fields=["same_as"])


def _part(leaving: Person, accounts: list[Person]) -> None:
    """One leaves; the oldest of the others stands for them."""
    leaving.same_as = None
    leaving.save(update_fields=["same_as"])
    _join([row for row in accounts if row.pk != leaving.pk])
