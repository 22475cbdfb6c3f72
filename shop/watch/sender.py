"""Sends what is wanted. A mail is marked as sent only after the mail server has taken it.

A sender claims a delivery by one conditional UPDATE whose row count decides, and has it for the time of a lease. One
that dies leaves a lease that runs out, and another sends the same words under the same Message-ID. Only where it died
between the server's acceptance and the mark does the mail come twice: that possibility is counted and shown.
"""

import logging
import smtplib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeGuard
from urllib.parse import urlsplit
from uuid import UUID, uuid4

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.db.models import Case, F, Q, When

from shop import clock
from shop.people.queries import the_room
from shop.watch import line as lines
from shop.watch import morning_mail, words
from shop.watch.models import Alert, Delivery, DeliveryKind, DeliveryState, Told

log = logging.getLogger(__name__)

#: How long a sender has a delivery for itself: longer than a mail server that still answers takes.
LEASE = timedelta(minutes=3)
#: How long after each failed attempt the next one waits; after the last, the delivery is given up and the owner told.
WAITS = tuple(timedelta(minutes=m) for m in (1, 5, 15, 60, 180, 360, 720))


@dataclass
class Posted:
    """What one round did."""

    sent: int = 0
    put_off: int = 0
    given_up: int = 0
    not_needed: int = 0

    def __str__(self) -> str:
        return f"{self.sent} sent, {self.put_off} put off, {self.given_up} given up, {self.not_needed} not needed"


def send_due(*, most: int = 500, connection: BaseEmailBackend | None = None) -> Posted:
    """Send what is wanted and due, oldest first, up to `most`; any number of these may run at once."""
    posted = Posted()
    post = connection or get_connection()
    try:
        for pk in _due(most):
            _deliver(pk, post, posted)
    finally:
        post.close()
    return posted


def _due(most: int) -> list[int]:
    now = clock.now()
    free = Q(lease__isnull=True) | Q(lease_until__lt=now)
    due = Delivery.objects.filter(free, state=DeliveryState.WANTED, not_before__lte=now)
    return list(due.order_by("not_before", "id").values_list("pk", flat=True)[:most])


def _deliver(pk: int, post: BaseEmailBackend, posted: Posted) -> None:
    lease = uuid4()
    delivery = claim(pk, lease)
    if delivery is None:
        return
    try:
        post.open()
        post.send_messages([_message(delivery)])
    except Exception as trouble:
        post.close()  # whatever state the conversation is in, the next one begins afresh
        _failed(delivery, lease, trouble, posted)
        return
    mark_sent(delivery, lease)
    posted.sent += 1


def claim(pk: int, lease: UUID) -> Delivery | None:
    """The delivery, if it is ours now: written out, to be sent. None if another has it, or nobody needs it any more.

    Steps: 1. one UPDATE takes the lease if it is free; 2. in quiet hours it is put off to their end; 3. at the first
    attempt the words are written, and kept for every further one.
    """
    now = clock.now()
    with transaction.atomic():
        free = Delivery.objects.filter(Q(lease__isnull=True) | Q(lease_until__lt=now), pk=pk, not_before__lte=now)
        taken = free.filter(state=DeliveryState.WANTED).update(
            lease=lease,
            lease_until=now + LEASE,
            attempts=F("attempts") + 1,
            # A lease that ran out: its sender may have died after the server had taken the mail.
            doubled=F("doubled") + Case(When(lease__isnull=False, then=1), default=0),
        )
        if not taken:
            return None
        delivery = Delivery.objects.select_related("person__wishes", "alert").get(pk=pk)
        if not delivery.person.is_active or not delivery.person.email:
            _not_needed(delivery, "the person has no address here any more")
            return None
        if (later := lines.end_of_quiet(lines.wishes_of(delivery.person), now)) > now:
            Delivery.objects.filter(pk=pk).update(
                lease=None, lease_until=None, not_before=later, attempts=F("attempts") - 1
            )
            return None
        if delivery.subject:
            return delivery
        return _written(delivery, now)


def _not_needed(delivery: Delivery, why: str) -> None:
    Delivery.objects.filter(pk=delivery.pk).update(
        state=DeliveryState.NOT_NEEDED, lease=None, lease_until=None, trouble=why
    )


def _written(delivery: Delivery, now: datetime) -> Delivery | None:
    """The delivery with its words, as things stand now; None if there is nothing left to tell."""
    if delivery.kind == DeliveryKind.AT_ONCE:
        if not _is_to_be_told(delivery.alert, now):
            _not_needed(delivery, "it was over, or looked after, before the mail went")
            return None
        if _others(delivery, DeliveryKind.MORNING, now):
            _not_needed(delivery, "it stands in the morning mail, which goes now")
            return None
        told = _holds(delivery, now)
        delivery.subject, delivery.body = words.at_once(delivery.person, told)
    else:
        told = _write_morning(delivery, now)
        if not told:
            _not_needed(delivery, "nothing was left to tell")
            return None
        morning_mail.drop_older(delivery)
    delivery.tells = [[alert.pk, alert.grade] for alert in told]
    delivery.save(update_fields=["subject", "body", "tells"])
    return delivery


def _is_to_be_told(alert: Alert | None, now: datetime) -> TypeGuard[Alert]:
    """Whether somebody has still to hear of it at once."""
    if alert is None or alert.is_quiet(now):
        return False
    return alert.is_hold and alert.gone_since is None and alert.taken_by_id is None


def _others(delivery: Delivery, kind: DeliveryKind, now: datetime) -> list[Delivery]:
    """Other mails to the same person that are due now and not begun; ours until the transaction ends."""
    theirs = Delivery.objects.filter(person=delivery.person_id, kind=kind, state=DeliveryState.WANTED, subject="")
    free = theirs.filter(lease__isnull=True, not_before__lte=now).exclude(pk=delivery.pk)
    return list(free.select_for_update(skip_locked=True, of=("self",)).order_by("id"))


def _holds(delivery: Delivery, now: datetime) -> list[Alert]:
    """Its hold, and all others that the person is to be told of now: they go in this one mail, so that a day on which
    much comes at once, or the first after a week with the machine off, brings no storm of them."""
    others = _others(delivery, DeliveryKind.AT_ONCE, now)
    Delivery.objects.filter(pk__in=[one.pk for one in others]).update(
        state=DeliveryState.NOT_NEEDED, trouble="it went in one mail with another"
    )
    found = Alert.objects.filter(pk__in=[delivery.alert_id, *(one.alert_id for one in others)])
    alerts = found.select_related("taken_by", "with_person").order_by("opened_at", "id")
    return [alert for alert in alerts if _is_to_be_told(alert, now)]


def _write_morning(delivery: Delivery, now: datetime) -> list[Alert]:
    """Write it, and give all that it tells of for the first time: also what there was no room for."""
    person = delivery.person
    alerts = morning_mail.for_the_mail_of(person, now)
    fresh = morning_mail.new_to(person, alerts)
    if not morning_mail.is_news(fresh):
        return []
    new = [Alert(pk=pk, grade=grade) for pk, grade in fresh.values_list("pk", "grade")]
    told = words.Morning(
        alerts=list(morning_mail.in_reading_order(person, alerts)[: words.IN_ALL]),
        new={alert.pk for alert in new},
        count=alerts.count(),
    )
    delivery.subject, delivery.body = words.morning(person, told)
    return new


def _message(delivery: Delivery) -> EmailMessage:
    leave = words.leaving_address(delivery.person, delivery.kind)
    return EmailMessage(
        subject=delivery.subject,
        body=delivery.body,
        from_email=words.from_address(the_room().name),
        to=[delivery.person.email],
        headers={
            "Message-ID": message_id(delivery),
            "Auto-Submitted": "auto-generated",
            "List-Unsubscribe": f"<{leave}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        },
    )


def message_id(delivery: Delivery) -> str:
    """The same for every attempt at a delivery."""
    return f"<{delivery.message_key.hex}@{urlsplit(settings.LATHESIDE_ADDRESS).hostname or 'localhost'}>"


def mark_sent(delivery: Delivery, lease: UUID) -> bool:
    """Mark it as sent and its alerts as told, if the lease is still ours: then nobody else sends it."""
    now = clock.now()
    with transaction.atomic():
        ours = Delivery.objects.filter(pk=delivery.pk, lease=lease, state=DeliveryState.WANTED)
        if not ours.update(state=DeliveryState.SENT, sent_at=now, lease=None, lease_until=None, trouble=""):
            log.warning("delivery %s was sent, but its lease had run out: it may come twice", delivery.pk)
            return False
        _tell(delivery)
    return True


def _tell(delivery: Delivery) -> None:
    told: Iterable[Told] = (
        Told(person=delivery.person, alert_id=alert, delivery=delivery, grade=grade) for alert, grade in delivery.tells
    )
    Told.objects.bulk_create(told, batch_size=400, ignore_conflicts=True)


def _failed(delivery: Delivery, lease: UUID, trouble: Exception, posted: Posted) -> None:
    """Put it off, longer each time; give it up after the last wait, or at once where the server will never take it."""
    ours = Delivery.objects.filter(pk=delivery.pk, lease=lease, state=DeliveryState.WANTED)
    said = f"{type(trouble).__name__}: {trouble}"[:300]
    if isinstance(trouble, (smtplib.SMTPServerDisconnected, TimeoutError)):
        ours.update(doubled=F("doubled") + 1)  # it may have been taken all the same, and goes out again
    tries = delivery.attempts - 1
    if tries >= len(WAITS) or _is_for_good(trouble):
        ours.update(state=DeliveryState.GIVEN_UP, lease=None, lease_until=None, trouble=said)
        posted.given_up += 1
        log.warning("delivery %s to person %s is given up: %s", delivery.pk, delivery.person_id, said)
        return
    not_before = clock.now() + WAITS[tries]
    ours.update(lease=None, lease_until=None, not_before=not_before, trouble=said)
    posted.put_off += 1


def _is_for_good(trouble: Exception) -> bool:
    """Whether this mail will go at no later time either: no mail can be made of it (an address of two lines, say), or
    the server refused it with a code that says not to try again (5xx)."""
    if isinstance(trouble, ValueError):
        return True
    if isinstance(trouble, smtplib.SMTPRecipientsRefused):
        return all(500 <= code < 600 for code, _ in trouble.recipients.values())
    refused = (smtplib.SMTPDataError, smtplib.SMTPSenderRefused)
    return isinstance(trouble, refused) and 500 <= trouble.smtp_code < 600
