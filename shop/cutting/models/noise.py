"""How noisy a silent groove was: the level a life cut it at."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.cutting.models.sides import Side
from shop.cutting.models.styli import Life


class NoiseLevel(models.Model):
    """The level of a silent groove, in dB against the shop's own reference: higher is noisier.

    side: the side it was measured on, None for a test cut. One that was written down wrongly is struck out, never
    removed.
    """

    life = models.ForeignKey(Life, on_delete=models.PROTECT, related_name="noise_levels")
    side = models.ForeignKey(Side, on_delete=models.PROTECT, null=True, blank=True, related_name="noise_levels")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    level_db = models.FloatField("level")
    note = models.CharField(max_length=300, blank=True)
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    struck_why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["side"], condition=Q(struck_at__isnull=True), name="cutting_one_level_a_side"
            ),
            models.CheckConstraint(
                condition=Q(struck_at__isnull=True, struck_by__isnull=True, struck_why="")
                | (Q(struck_at__isnull=False, struck_by__isnull=False) & ~Q(struck_why="")),
                name="cutting_struck_by_and_why",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.level_db:g} dB of {self.life}"

    def get_absolute_url(self) -> str:
        return self.life.stylus.get_absolute_url()
