"""Sending an invitation.

It goes out at once and is not queued: a queue would keep its words, and with them the link, of which only a digest is
kept. The owner has the link in any case, so nothing is lost where no mail server answers.
"""

import logging

from django.conf import settings
from django.core.mail import send_mail
from django.utils import timezone

from shop.people.models import Invitation, Room

log = logging.getLogger(__name__)


def send_invitation(invited: Invitation, link: str, room: Room) -> str:
    """Send the link to the address it was made for; give the sentence that says what came of it."""
    if settings.EMAIL_BACKEND.endswith("console.EmailBackend"):
        return "No mail server is set up here, so no mail was sent: hand the link over yourself."
    until = timezone.localtime(invited.expires_at)
    body = (
        f"Good day, {invited.name}.\n\n"
        f"{invited.by.name} invites you to {room.name}. Under this link you choose your own sign-in name and "
        f"password:\n\n{link}\n\n"
        f"It is good once, until {until:%A %-d %B %Y, %H:%M} ({room.zone}). If you expected none, ignore this mail.\n"
    )
    try:
        send_mail(f"{room.name}: your invitation", body, None, [invited.email])
    except Exception:  # whatever the server or the network says: the owner still has the link
        log.exception("the mail of an invitation could not be sent")
        return f"The mail to {invited.email} could not be sent: hand the link over yourself."
    return f"It was sent to {invited.email} as well."
