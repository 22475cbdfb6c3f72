"""A side from the moment the head goes down until somebody says what became of it."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.cutting.models.bookings import BookingSide, DiscSize, Speed
from shop.cutting.models.sides import Side
from shop.cutting.models.styli import Lathe, Life
from shop.stock.models import Lot

#: Of runs: nobody has said yet what became of it. It runs still, or was stopped and waits.
UNDER_WAY = Q(side__isnull=True, dropped_at__isnull=True)


class RunningSide(models.Model):
    """A side that was started on a lathe: it runs, was stopped, and then is logged as a side, or was not cut at all.

    play_s: seconds of music that were planned when it was started, None for a cut without a booking. overruled: why it
    was started although a rule spoke against it. side: its record, once somebody said what became of it; dropped_*:
    that it was not cut after all, and why.
    """

    wanted = models.ForeignKey(BookingSide, on_delete=models.PROTECT, null=True, blank=True, related_name="runs")
    lathe = models.ForeignKey(Lathe, on_delete=models.PROTECT, related_name="runs")
    life = models.ForeignKey(Life, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    disc_in = models.PositiveSmallIntegerField("record size", choices=DiscSize)
    speed = models.CharField(max_length=2, choices=Speed)
    pitch_um = models.FloatField()
    width_um = models.FloatField()
    play_s = models.PositiveIntegerField("length planned", null=True, blank=True)
    overruled = models.CharField("why a rule was overruled", max_length=300, blank=True)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    stopped_at = models.DateTimeField(null=True, blank=True)
    stopped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    side = models.OneToOneField(Side, on_delete=models.PROTECT, null=True, blank=True, related_name="run")
    dropped_at = models.DateTimeField(null=True, blank=True)
    dropped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    dropped_why = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["lathe"],
                condition=Q(stopped_at__isnull=True, dropped_at__isnull=True),
                name="cutting_one_runs_on_a_lathe",
            ),
            models.CheckConstraint(
                condition=Q(stopped_at__isnull=True, stopped_by__isnull=True)
                | Q(stopped_at__gte=F("started_at"), stopped_by__isnull=False),
                name="cutting_stopped_after_it_was_started",
            ),
            models.CheckConstraint(
                condition=Q(side__isnull=True) | Q(stopped_at__isnull=False, dropped_at__isnull=True),
                name="cutting_logged_once_stopped",
            ),
            models.CheckConstraint(
                condition=Q(dropped_at__isnull=True, dropped_by__isnull=True, dropped_why="")
                | (Q(dropped_at__isnull=False, dropped_by__isnull=False) & ~Q(dropped_why="")),
                name="cutting_dropped_by_and_why",
            ),
        ]
        indexes: ClassVar = [
            # Those stay few: every other one was logged or dropped.
            models.Index(
                fields=["lathe", "started_at"],
                condition=UNDER_WAY,
                name="cutting_side_under_way",
            )
        ]

    def __str__(self) -> str:
        """Within a sentence; see `name`."""
        return str(self.wanted) if self.wanted is not None else "a side without a booking"

    @property
    def name(self) -> str:
        """As a sentence begins with it."""
        return str(self.wanted) if self.wanted is not None else "A side without a booking"

    def get_absolute_url(self) -> str:
        return reverse("cutting:running-side", args=[self.pk])

    @property
    def is_running(self) -> bool:
        return self.stopped_at is None and self.dropped_at is None

    @property
    def is_open(self) -> bool:
        """Whether nobody has said yet what became of it."""
        return self.side_id is None and self.dropped_at is None
