from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q


class MeterUnit(models.TextChoices):
    """What a meter counts, and the whole-number unit it is kept in."""

    MILLIGRAM = "mg", "grams"
    SECOND = "s", "hours"
    COUNT = "n", "times"


class Meter(models.Model):
    """A running count that care may fall due by. The limits are the shop's own.

    value: since the last reset, in `unit`. care_at, hold_at: the values from which it is a concern of that grade.
    """

    key = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=60)
    unit = models.CharField(max_length=4, choices=MeterUnit)
    value = models.BigIntegerField(default=0)
    reset_at = models.DateTimeField(null=True, blank=True)
    reset_word = models.CharField("what resets it", max_length=60)
    what_to_do = models.CharField(max_length=300, blank=True)
    caution = models.CharField(max_length=300, blank=True)
    care_at = models.PositiveBigIntegerField(null=True, blank=True)
    hold_at = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(value__gte=0), name="duties_meter_not_below_zero")
        ]

    def __str__(self) -> str:
        return self.name


class Tick(models.Model):
    """One step of a meter, or its reset; only ever added. value: the meter's value after it."""

    meter = models.ForeignKey(Meter, on_delete=models.PROTECT, related_name="ticks")
    amount = models.BigIntegerField()
    is_reset = models.BooleanField(default=False)
    value = models.BigIntegerField()
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(value__gte=0), name="duties_tick_not_below_zero"),
            models.CheckConstraint(
                condition=Q(is_reset=False) | Q(value=0), name="duties_reset_is_to_zero"
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["meter", "-id"], name="duties_meter_ticks")]

    def __str__(self) -> str:
        return f"{self.meter_id} {self.amount:+d}"
