"""A concern that was raised, until it is over; who took it on, and what was done about it."""

from datetime import datetime
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.concern import Grade, Quantity, kept_quantities


class Alert(models.Model):
    """One concern from the sweep that first saw its key to the one that knew it gone for good.

    key, grade, subject, headline, reason, what_to_do, link, by: the concern as last seen, its texts in the room's units
    with the quantities in them beside (amounts); a grade falls only after it stayed lighter for a while
    (lighter_since), and the alert ends only after its key stayed away (gone_since).
    opened_at: the first sweep that saw it. ended_at: the concern is gone.
    settled_at: somebody said with a word that nothing more is to be done; it stays quiet unless it grows graver.
    taken_by: who looks after it. snoozed_until: quiet until then. with_person: whose turn it is to take it on, since
    passed_at; is_with_all: the line came to its end and the owners were told.
    """

    key = models.CharField(max_length=160)
    grade = models.PositiveSmallIntegerField(choices=[(grade.value, grade.word) for grade in Grade])
    subject = models.CharField(max_length=200)
    headline = models.CharField(max_length=500)
    reason = models.TextField(blank=True)
    what_to_do = models.TextField(blank=True)
    link = models.CharField(max_length=300)
    amounts = models.JSONField(default=list, blank=True)
    by = models.DateTimeField(null=True, blank=True)
    opened_at = models.DateTimeField()
    gone_since = models.DateTimeField(null=True, blank=True)
    lighter_since = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    taken_at = models.DateTimeField(null=True, blank=True)
    snoozed_until = models.DateTimeField(null=True, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    with_person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    passed_at = models.DateTimeField(null=True, blank=True)
    is_with_all = models.BooleanField(default=False)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["key"], condition=Q(ended_at__isnull=True), name="watch_one_open_a_key"),
            models.CheckConstraint(condition=Q(grade__in=[int(grade) for grade in Grade]), name="watch_grade_known"),
            models.CheckConstraint(
                condition=Q(taken_by__isnull=True, taken_at__isnull=True)
                | Q(taken_by__isnull=False, taken_at__isnull=False),
                name="watch_taken_has_a_name",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["-opened_at", "-id"], name="watch_alerts_by_day"),
            models.Index(fields=["key", "-id"], name="watch_alerts_of_a_key"),
        ]

    def __str__(self) -> str:
        return self.headline

    def get_absolute_url(self) -> str:
        return reverse("watch:alert", args=[self.pk])

    @property
    def is_hold(self) -> bool:
        return self.grade == Grade.HOLD

    @property
    def quantities(self) -> tuple[Quantity, ...]:
        """Those in its texts, to be told each reader in their own units (`people.fields.retold`, the tag `told`)."""
        return kept_quantities(self.amounts)

    @property
    def topic(self) -> str:
        """The app that is worried: "stock", "room"."""
        return self.key.partition(":")[0]

    def is_quiet(self, now: datetime) -> bool:
        """Nobody is to be reminded of it now: over, settled, or snoozed."""
        if self.ended_at is not None or self.settled_at is not None:
            return True
        return self.snoozed_until is not None and self.snoozed_until > now


class StepKind(models.TextChoices):
    OPENED = "opened", "Raised"
    GRAVER = "graver", "Grew graver"
    LIGHTER = "lighter", "Grew lighter"
    TAKEN = "taken", "Taken on"
    GIVEN_BACK = "given_back", "Given back"
    SNOOZED = "snoozed", "Snoozed"
    WOKEN = "woken", "Woken"
    PASSED_ON = "passed_on", "Passed on"
    SETTLED = "settled", "Settled"
    RAISED_AGAIN = "raised_again", "Raised again"
    ENDED = "ended", "Gone"


class AlertStep(models.Model):
    """What befell an alert. by: None for what the sweep saw. Only ever added."""

    alert = models.ForeignKey(Alert, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=14, choices=StepKind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(StepKind)), name="watch_step_kind_known")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.alert_id}"
