"""Counting the shelf: what is to be counted, what was found, and who agreed to it."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.stock.models.lots import Lot
from shop.stock.models.movements import Movement


class CountState(models.TextChoices):
    OPEN = "open", "Being counted"
    GIVEN = "given", "Given in"
    AGREED = "agreed", "Agreed"
    DROPPED = "dropped", "Dropped"


#: Still to be counted, explained or agreed.
UNSETTLED = frozenset({CountState.OPEN, CountState.GIVEN})


class Count(models.Model):
    """One count of many lots: counted blind, then given in, then agreed. about: what it covers, in a few words.

    Who did what, and when, is in its steps.
    """

    about = models.CharField(max_length=200)
    state = models.CharField(max_length=8, choices=CountState, default=CountState.OPEN)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(state__in=list(CountState)), name="stock_count_state_known")
        ]

    def __str__(self) -> str:
        return f"Count {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("stock:count", args=[self.pk])

    @property
    def is_unsettled(self) -> bool:
        return self.state in UNSETTLED


class CountLine(models.Model):
    """A lot that a count covers. reason: why what was found differs from the ledger; fixed once it is agreed."""

    count = models.ForeignKey(Count, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["count", "lot"], name="stock_lot_once_a_count"),
        ]

    def __str__(self) -> str:
        return f"lot {self.lot_id} in count {self.count_id}"


class Tally(models.Model):
    """That somebody counted a lot, and found so many; only ever added. The latest of a line is the one that counts.

    counted: in the item's unit. at: when it was counted; recorded_at: when it was entered. after: the last line of the
    lot's ledger then, so that what was written since is told apart.
    """

    line = models.ForeignKey(CountLine, on_delete=models.PROTECT, related_name="tallies")
    counted = models.PositiveIntegerField()
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    after = models.ForeignKey(Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["id"]
        verbose_name_plural = "tallies"

    def __str__(self) -> str:
        return f"{self.counted} of {self.line}"


class Settled(models.Model):
    """What was agreed of one lot, as it was signed; only ever added.

    expected: what the ledger says was there when it was counted, by all that is known at agreement; reason: why that
    differs, "" where it does not; movement: the line of the ledger that was made of it.
    """

    tally = models.OneToOneField(Tally, on_delete=models.PROTECT, related_name="settled")
    expected = models.IntegerField()
    reason = models.CharField(max_length=300, blank=True)
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="settled")

    class Meta:
        verbose_name_plural = "settled"

    def __str__(self) -> str:
        return f"{self.tally} settled"


class CountStepKind(models.TextChoices):
    STARTED = "started", "Started"
    ADDED = "added", "A lot was added"
    GIVEN = "given", "Given in"
    AGREED = "agreed", "Agreed"
    DROPPED = "dropped", "Dropped"


class CountStep(models.Model):
    """What was done with a count, by whom and when. Only ever added."""

    count = models.ForeignKey(Count, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=8, choices=CountStepKind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(CountStepKind)), name="stock_count_step_known")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.count_id}"
