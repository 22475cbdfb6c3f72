"""The calendar feed: what it last said of each happening, and the secret addresses it is read at."""

from typing import ClassVar

from django.conf import settings
from django.db import models


class FeedEntry(models.Model):
    """What the calendar says of one happening, kept so that a change counts up `sequence` and what vanished is shown as
    cancelled (RFC 5545, 3.8.7.4 and 3.8.1.11). stamp: when it last changed."""

    uid = models.CharField(max_length=120, unique=True)
    title = models.CharField(max_length=200)
    day = models.DateField(null=True, blank=True)
    start = models.DateTimeField(null=True, blank=True)
    minutes = models.PositiveIntegerField(default=0)
    note = models.TextField(blank=True)
    link = models.CharField(max_length=300)
    is_cancelled = models.BooleanField(default=False)
    sequence = models.PositiveIntegerField(default=0)
    stamp = models.DateTimeField()

    class Meta:
        verbose_name_plural = "feed entries"
        ordering: ClassVar = ["uid"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(day__isnull=True, start__isnull=False)
                | models.Q(day__isnull=False, start__isnull=True),
                name="watch_entry_has_one_start",
            )
        ]

    def __str__(self) -> str:
        return self.uid


class FeedKey(models.Model):
    """The secret in one person's feed address. Only its SHA-256 is kept: the address is shown once, when it is made."""

    person = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="feed_key")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"feed of {self.person_id}"
