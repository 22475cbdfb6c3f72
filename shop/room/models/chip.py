"""Cut chip after the trap: the waste cans it is wetted and stored in, and who took them."""

import re
from datetime import datetime
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.urls import reverse


def can_named(mark: str) -> str:
    """A can's mark with the word for it, unless the mark says so itself: "Can C-1", "Chip can 2"."""
    return mark if re.search(r"\bcan\b", mark, re.IGNORECASE) else f"Can {mark}"


class ChipCan(models.Model):
    """A waste can for wetted chip, from its start until it is handed over.

    limit_g: the most chip in it, reckoned dry; limit_days: the longest it stands here. Both the shop's own, or what it
    was told by whoever takes the waste or sets the rules; None for none. taken_by: who took it away; handed_noted_at:
    when that was written down, None where it was before this was kept.
    """

    mark = models.CharField("mark or number", max_length=40)
    where = models.CharField("where it stands", max_length=120, blank=True)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    limit_g = models.PositiveIntegerField("most chip in it", null=True, blank=True)
    limit_days = models.PositiveSmallIntegerField("longest it stands here", null=True, blank=True)
    handed_at = models.DateTimeField(null=True, blank=True)
    handed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    handed_noted_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.CharField("who took it", max_length=120, blank=True)
    papers = models.CharField("what papers say so", max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-started_at", "-id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                Lower("mark"), condition=Q(handed_at__isnull=True), name="room_chip_can_named_once"
            ),
            models.CheckConstraint(
                condition=Q(handed_at__isnull=True, handed_by__isnull=True, taken_by="")
                | (Q(handed_at__isnull=False, handed_by__isnull=False) & ~Q(taken_by="")),
                name="room_chip_can_handed_by_and_to",
            ),
        ]

    def __str__(self) -> str:
        return self.mark

    @property
    def named(self) -> str:
        return can_named(self.mark)

    def get_absolute_url(self) -> str:
        return reverse("room:chip")

    def may_come_back(self, since: datetime) -> bool:
        """Whether it was written down as handed over at that moment or after."""
        return self.handed_noted_at is not None and self.handed_noted_at >= since


class ChipStored(models.Model):
    """Chip wetted and stored in a can; only ever added. mg: reckoned dry, below zero in one that takes another back.

    What was emptied from the trap up to `at` is dealt with by it.
    """

    can = models.ForeignKey(ChipCan, on_delete=models.PROTECT, related_name="stored")
    mg = models.IntegerField()
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(undoes__isnull=True, mg__gt=0) | Q(undoes__isnull=False, mg__lt=0),
                name="room_chip_taken_back_is_below_zero",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["-at", "-id"], name="room_chip_stored_order")]

    def __str__(self) -> str:
        return f"{self.mg / 1000:g} g in {self.can_id}"

    @property
    def grams(self) -> float:
        return self.mg / 1000
