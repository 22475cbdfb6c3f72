"""How the room watches, and how each person wishes to be told."""

from datetime import time
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q


class WatchRules(models.Model):
    """The one row of the shop's own rules for alerts.

    settle_minutes: how long a concern must stay away before its alert ends, and stay lighter before it is graded so.
    hold_minutes, care_minutes: how long an alert of that grade waits for somebody to take it on before it goes to the
    next in line. snooze_hours: the longest that an alert graded hold may be snoozed at once.
    """

    settle_minutes = models.PositiveIntegerField(default=20)
    hold_minutes = models.PositiveIntegerField(default=30)
    care_minutes = models.PositiveIntegerField(default=240)
    snooze_hours = models.PositiveIntegerField(default=4)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "watch rules"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(id=1), name="watch_one_row_of_rules"),
            models.CheckConstraint(
                condition=Q(hold_minutes__gte=1, care_minutes__gte=1, snooze_hours__gte=1),
                name="watch_times_above_zero",
            ),
        ]

    def __str__(self) -> str:
        return "rules for alerts"


class Wishes(models.Model):
    """How one person wishes to be told. Whoever has no row is told by the defaults here, if they have an address.

    mail_at: when their one morning mail comes, by the room's wall clock. at_once: an alert graded hold comes at once.
    quiet_from, quiet_to: between these nothing is sent (over midnight if the first is the later); the same time twice
    is no quiet at all. muted: topics left out of their mail. turn: their place in line, smallest first, or None.
    """

    person = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="wishes")
    morning_mail = models.BooleanField(default=True)
    mail_at = models.TimeField(default=time(7, 30))
    at_once = models.BooleanField(default=True)
    quiet_from = models.TimeField(default=time(21, 0))
    quiet_to = models.TimeField(default=time(7, 0))
    muted = models.JSONField(default=list, blank=True)
    turn = models.PositiveSmallIntegerField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "wishes"

    def __str__(self) -> str:
        return f"wishes of {self.person_id}"

    def is_quiet_at(self, wall: time) -> bool:
        """Whether `wall`, a time of the room's clock, falls into the quiet hours: the first included, the last not."""
        if self.quiet_from == self.quiet_to:
            return False
        if self.quiet_from < self.quiet_to:
            return self.quiet_from <= wall < self.quiet_to
        return wall >= self.quiet_from or wall < self.quiet_to
