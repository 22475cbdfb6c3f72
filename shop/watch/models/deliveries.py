"""The wish to tell somebody something, and what became of it."""

import uuid
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.watch.models.alerts import Alert


class DeliveryKind(models.TextChoices):
    MORNING = "morning", "Morning mail"
    AT_ONCE = "at_once", "At once"


class DeliveryState(models.TextChoices):
    WANTED = "wanted", "To be sent"
    SENT = "sent", "Sent"
    NOT_NEEDED = "not_needed", "Not needed"
    GIVEN_UP = "given_up", "Given up"


class Delivery(models.Model):
    """One mail to one person: the wish to send it is written with its cause; then a sender claims it with a lease.

    occasion: makes the wish one of its kind ("2026-11-25", "alert:812:3"). not_before: the next time to try. lease: the
    sender that has it, until lease_until. attempts: how often it was begun. subject, body: written at the first
    attempt, so that each further one sends the same words under the same Message-ID (of message_key). doubled: how
    often an earlier attempt may have reached the mail server without being marked, so that it may have come twice.
    tells: what it tells of for the first time, as pairs of alert and grade.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=10, choices=DeliveryKind)
    occasion = models.CharField(max_length=60)
    alert = models.ForeignKey(Alert, on_delete=models.PROTECT, null=True, blank=True, related_name="deliveries")
    state = models.CharField(max_length=12, choices=DeliveryState, default=DeliveryState.WANTED)
    made_at = models.DateTimeField()
    not_before = models.DateTimeField()
    lease = models.UUIDField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    doubled = models.PositiveSmallIntegerField(default=0)
    message_key = models.UUIDField(default=uuid.uuid4, unique=True)
    subject = models.CharField(max_length=200, blank=True)
    body = models.TextField(blank=True)
    tells = models.JSONField(default=list, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    trouble = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name_plural = "deliveries"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "kind", "occasion"], name="watch_one_mail_an_occasion"),
            models.CheckConstraint(condition=Q(state__in=list(DeliveryState)), name="watch_delivery_state_known"),
            models.CheckConstraint(
                condition=Q(state="sent", sent_at__isnull=False) | (~Q(state="sent") & Q(sent_at__isnull=True)),
                name="watch_sent_has_a_time",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["not_before", "id"], condition=Q(state="wanted"), name="watch_to_be_sent"),
            models.Index(fields=["-made_at", "-id"], name="watch_deliveries_by_day"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} to {self.person_id} ({self.occasion})"


class Told(models.Model):
    """That a person was told of an alert, by which mail: nobody is told of the same one as new a second time."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    alert = models.ForeignKey(Alert, on_delete=models.CASCADE, related_name="told")
    delivery = models.ForeignKey(Delivery, on_delete=models.CASCADE, related_name="+")
    grade = models.PositiveSmallIntegerField()

    class Meta:
        verbose_name_plural = "told"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "alert", "grade"], name="watch_told_once_a_grade")
        ]

    def __str__(self) -> str:
        return f"{self.person_id} of {self.alert_id}"
