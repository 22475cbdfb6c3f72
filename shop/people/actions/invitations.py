"""Inviting somebody by a link that is good once and for a time."""

from datetime import timedelta

from django.db import transaction

from shop import clock
from shop.people.actions.people import make_person
from shop.people.models import OWNERS, Invitation, Person, Role
from shop.people.queries import the_room
from shop.people.rules import check_email, check_name
from shop.people.secrets import digest_of
from shop.press import record
from shop.press.action import action
from shop.refusal import Refused


class NotGood(Refused):
    """The invitation was used, has run out or was withdrawn."""

    status = 410


@action(roles=OWNERS)
def invite_person(*, by: Person, name: str, role: str, secret: str, email: str = "") -> Invitation:
    """Invite somebody, for the room's own hours. `secret` (of secrets.new_secret) goes into the link, unkept."""
    now = clock.now()
    return Invitation.objects.create(
        name=check_name(name),
        role=Role(role),
        email=check_email(email),
        digest=digest_of(secret),
        by=by,
        made_at=now,
        expires_at=now + timedelta(hours=the_room().invitation_hours),
    )


@action(roles=OWNERS)
def withdraw_invitation(*, by: Person, invitation: Invitation) -> Invitation:
    """Let the link be good no longer. Refuses one that was used."""
    open_one = Invitation.objects.filter(pk=invitation.pk, used_at=None, withdrawn_at=None)
    done = open_one.update(withdrawn_at=clock.now(), withdrawn_by=by)
    invitation.refresh_from_db()
    if not done:
        raise Refused(f"{invitation.name} has used it already." if invitation.used_at else "It was withdrawn already.")
    return invitation


def accept_invitation(*, secret: str, sign_in: str, password: str) -> Person:
    """Make the account that was invited, with a sign-in name and password of the person's own choice.

    Not an action, for there is nobody yet to press: the link itself is the token, and one UPDATE uses it up. Raises
    NotGood where it was used, has run out or was withdrawn, Refused for a name or password that will not do: then it
    is as good as before.
    """
    with transaction.atomic(durable=True):
        now = clock.now()
        good = Invitation.objects.filter(digest=digest_of(secret), used_at=None, withdrawn_at=None, expires_at__gt=now)
        if not good.update(used_at=now):
            raise NotGood(why_not(secret))
        invitation = Invitation.objects.get(digest=digest_of(secret))
        person = make_person(
            name=invitation.name, sign_in=sign_in, role=invitation.role, password=password, email=invitation.email
        )
        invitation.person = person
        invitation.save(update_fields=["person"])
        record.write(
            by=person,
            act="people.accept_invitation",
            thing=person,
            said={"invitation": record.plain(invitation), "sign_in": sign_in},
            changed={},
        )
    return person


def why_not(secret: str) -> str:
    """What to say of a link that is not good, or ""."""
    invitation = Invitation.objects.filter(digest=digest_of(secret)).first()
    if invitation is None:
        return "There is no such invitation. The link may have been cut short on its way: copy all of it."
    if invitation.used_at:
        return "This invitation was used already. If that was you, sign in; if it was not, tell the owner at once."
    if invitation.withdrawn_at:
        return "This invitation was withdrawn. Ask the owner for another."
    if invitation.expires_at <= clock.now():
        return "The time of this invitation is over. Ask the owner for another."
    return ""
