"""Sides cut, why one is rejected, and the record of one that was logged by mistake."""

from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.cutting.models.bookings import BookingSide, DiscSize, Speed
from shop.cutting.models.styli import Lathe, Life
from shop.stock.models import Lot, Movement


class Blame(models.TextChoices):
    BLANK = "blank", "the blank"
    STYLUS = "stylus", "the stylus"
    EDGE = "edge", "the stylus, its edge chipped"
    OTHER = "other", "something else"


#: What speaks against the stylus. Once a side was rejected for it, the edge is in doubt until somebody looked it over.
AGAINST_STYLUS = (Blame.STYLUS, Blame.EDGE)


class RejectReason(models.Model):
    """Why a side was rejected: the shop's own list, with what it speaks against."""

    name = models.CharField(max_length=60, unique=True)
    blame = models.CharField(max_length=8, choices=Blame, default=Blame.OTHER)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class Outcome(models.TextChoices):
    GOOD = "good", "Good"
    REJECTED = "rejected", "Rejected"
    TEST = "test", "Test or reference"


class Side(models.Model):
    """One side cut: the record of it; only ever added. A mistaken one is withdrawn by a record that names it."""

    wanted = models.ForeignKey(BookingSide, on_delete=models.PROTECT, null=True, blank=True, related_name="cuts")
    lathe = models.ForeignKey(Lathe, on_delete=models.PROTECT, related_name="+")
    life = models.ForeignKey(Life, on_delete=models.PROTECT, related_name="cut_sides")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField("end of the cut")
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    disc_in = models.PositiveSmallIntegerField("record size", choices=DiscSize)
    speed = models.CharField(max_length=2, choices=Speed)
    cut_s = models.PositiveIntegerField("length")
    pitch_um = models.FloatField()
    width_um = models.FloatField()
    inner_mm = models.FloatField("diameter of the last groove")
    length_mm = models.PositiveIntegerField("length of groove")
    chip_mg = models.PositiveIntegerField()
    outcome = models.CharField(max_length=8, choices=Outcome)
    reject_reason = models.ForeignKey(
        RejectReason, on_delete=models.PROTECT, null=True, blank=True, related_name="sides"
    )
    cut_text = models.CharField("text in the run-out", max_length=80, blank=True)
    overruled = models.CharField("why a rule was overruled", max_length=300, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(outcome="rejected", reject_reason__isnull=False)
                | (~Q(outcome="rejected") & Q(reject_reason__isnull=True)),
                name="cutting_reject_has_reason",
            ),
            models.CheckConstraint(condition=Q(cut_s__gt=0), name="cutting_cut_takes_time"),
        ]
        indexes: ClassVar = [
            models.Index(fields=["-at", "-id"], name="cutting_side_order"),
            models.Index(fields=["life", "-id"], name="cutting_life_sides"),
            models.Index(fields=["lot", "-at", "-id"], name="cutting_lot_sides"),
            # Those stay few beside the good ones.
            models.Index(fields=["lot", "reject_reason"], condition=Q(outcome="rejected"), name="cutting_lot_rejected"),
        ]

    def __str__(self) -> str:
        return f"Side {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("cutting:side", args=[self.pk])

    @property
    def cut_by(self) -> Any:
        """Who cut it: whoever started it at the lathe, else whoever logged it (`by`). Select "run__started_by" too."""
        return self.run.started_by if hasattr(self, "run") else self.by

    @property
    def judged_by(self) -> Any:
        """Who said what became of it, where another cut it; None for the same."""
        return self.by if self.cut_by != self.by else None


class Withdrawal(models.Model):
    """The record that a side was logged by mistake: its blank went back, its hours, chip and metres were taken off."""

    side = models.OneToOneField(Side, on_delete=models.PROTECT, related_name="withdrawal")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"withdrawal of side {self.side_id}"
