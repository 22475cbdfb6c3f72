"""Opened containers of liquids: since when, where, how much is left in them, and what became of them."""

from datetime import date, timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop import clock
from shop.calc.due import days_open
from shop.safety.models.places import Place
from shop.safety.models.substances import Substance
from shop.stock.models import Lot, Movement


class EndKind(models.TextChoices):
    """What became of a container."""

    USED = "used", "Used up"
    WASTE = "waste", "Given to the waste"
    MISTAKE = "mistake", "Never opened: entered by mistake"


class OpenLimit(models.Model):
    """For how many days after opening the shop uses a substance. Its own figure, or its supplier's; because: which."""

    substance = models.OneToOneField(Substance, on_delete=models.CASCADE, related_name="open_limit")
    days = models.PositiveSmallIntegerField("used within, days")
    because = models.CharField("where that is from", max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=Q(days__gt=0), name="safety_open_limit_above_zero")]

    def __str__(self) -> str:
        return f"{self.substance}: {self.days} day{'' if self.days == 1 else 's'}"


class Container(models.Model):
    """One opened container. nominal_ml: what it holds when full; left_ml: what is in it by its last level.

    lot, movement: what it was taken from, and the line of the ledger by which; None where it came from elsewhere.
    tare_g: what it weighs empty, with its cap; density_kg_m3: that its weight is read by, and where that is from.
    use_by: what its own label says, where it says so.
    """

    substance = models.ForeignKey(Substance, on_delete=models.PROTECT, related_name="containers")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="containers")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="containers")
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="container")
    nominal_ml = models.PositiveIntegerField("holds when full")
    left_ml = models.PositiveIntegerField()
    tare_g = models.FloatField("weight empty, with its cap", null=True, blank=True)
    density_kg_m3 = models.FloatField(null=True, blank=True)
    density_source = models.CharField(max_length=300, blank=True)
    use_by = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_how = models.CharField(max_length=8, choices=EndKind, blank=True)
    ended_note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["opened_at", "id"]
        indexes: ClassVar = [models.Index(fields=["ended_at", "id"], name="safety_containers_ended")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(nominal_ml__gt=0), name="safety_container_holds_something"),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True, ended_how="", ended_by__isnull=True)
                | Q(ended_at__isnull=False, ended_how__in=list(EndKind), ended_by__isnull=False),
                name="safety_container_end_says_how",
            ),
            models.CheckConstraint(
                condition=Q(tare_g__isnull=True) | Q(density_kg_m3__isnull=False),
                name="safety_container_weight_needs_density",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.substance}, container {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("safety:container", args=[self.pk])

    @property
    def is_open(self) -> bool:
        return self.ended_at is None

    @property
    def share(self) -> float:
        """How full it is, 0 to 1."""
        return min(1.0, self.left_ml / self.nominal_ml)

    @property
    def days_open(self) -> int:
        """The midnights since it was opened, or that it was open for."""
        last = clock.day_of(self.ended_at) if self.ended_at else clock.today()
        return max(0, days_open(clock.day_of(self.opened_at), last))

    @property
    def last_day(self) -> date | None:
        """The day through which it is used: by its own label, else by the shop's limit; None for no limit."""
        if self.use_by is not None:
            return self.use_by
        limit = getattr(self.substance, "open_limit", None)
        return clock.day_of(self.opened_at) + timedelta(days=limit.days) if limit else None


class Level(models.Model):
    """How much was in a container: by its weight, or by its mark. Only added to; the latest counts.

    gross_g: what it weighed with its container; share: how full it was by its mark, 0 to 1. ml: what that comes to.
    """

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="levels")
    gross_g = models.FloatField(null=True, blank=True)
    share = models.FloatField(null=True, blank=True)
    ml = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        indexes: ClassVar = [models.Index(fields=["container", "-at", "-id"], name="safety_levels_of_container")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(gross_g__isnull=False, share__isnull=True) | Q(gross_g__isnull=True, share__isnull=False),
                name="safety_level_by_weight_or_mark",
            ),
            models.CheckConstraint(
                condition=Q(share__isnull=True) | Q(share__gte=0, share__lte=1), name="safety_level_is_a_share"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.ml} ml in container {self.container_id}"
