"""Instruments that report by themselves, or whose files are taken in; and what they sent that was not kept."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.urls import reverse

from shop.room.models.readings import ReadingKind


class Instrument(models.Model):
    """A sensor or logger that reads some of the room's kinds by itself. Its token is shown once; its digest is here.

    kinds: what it may write, and no more. every_min: how often it reports, None where its files are brought by hand.
    heard_at: when it last sent anything; kept_at: when a reading of it was last kept; missed_at: from then on it is
    missed, by its own interval. kept: how many readings of it were. added_by: who answers for what it reads.
    """

    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True)
    kinds = models.JSONField(default=list)
    every_min = models.PositiveIntegerField("minutes between its reports", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    heard_at = models.DateTimeField(null=True, blank=True)
    kept_at = models.DateTimeField(null=True, blank=True)
    missed_at = models.DateTimeField(null=True, blank=True)
    kept = models.PositiveBigIntegerField(default=0)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    revoked_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                Lower("name"), condition=Q(revoked_at__isnull=True), name="room_one_instrument_of_its_name"
            ),
            models.CheckConstraint(
                condition=Q(revoked_at__isnull=True, revoked_by__isnull=True)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False),
                name="room_instrument_revoked_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(every_min__isnull=True) | Q(every_min__gte=1), name="room_instrument_reports_at_times"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def reads(self) -> list[ReadingKind]:
        """What it may write, in the order in which the room's readings stand."""
        return [kind for kind in ReadingKind if kind in self.kinds]

    def get_absolute_url(self) -> str:
        return reverse("room:instrument", args=[self.pk])


class RefusedReading(models.Model):
    """What an instrument sent that was not kept: one row for each kind and cause, with how often, and the last of it.

    kind: "" where it named none of ours. code: the cause, of intake.REASONS. at, value: as sent, in the stored unit,
    where they could be read. since: of a gauge that fell, from when on it has stood there.
    """

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="refusals")
    kind = models.CharField(max_length=16, blank=True)
    code = models.CharField(max_length=12)
    reason = models.CharField(max_length=400)
    at = models.DateTimeField(null=True, blank=True)
    value = models.FloatField(null=True, blank=True)
    since = models.DateTimeField(null=True, blank=True)
    count = models.PositiveBigIntegerField(default=0)
    last_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-last_at", "-pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["instrument", "kind", "code"], name="room_one_refusal_of_its_cause")
        ]

    def __str__(self) -> str:
        return f"{self.code}: {self.count}"


class ReadingHour(models.Model):
    """The readings of one kind in one hour that count, added up: what charts of long stretches are drawn from.

    of: the number of the cylinder, for its gauge; 0 for the other kinds. hour: its beginning, in UTC. low, high, total
    in the stored unit. Kept by shop.room.hours in the transaction that adds a reading.
    """

    kind = models.CharField(max_length=16)
    of = models.PositiveBigIntegerField(default=0)
    hour = models.DateTimeField()
    count = models.PositiveIntegerField(default=0)
    total = models.FloatField(default=0.0)
    low = models.FloatField(default=0.0)
    high = models.FloatField(default=0.0)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kind", "hour", "of"], name="room_one_sum_an_hour"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.hour:%Y-%m-%d %H}"
