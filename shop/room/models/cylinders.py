"""Gas cylinders, and how much gas the shop takes."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.urls import reverse


class Cylinder(models.Model):
    """A nitrogen cylinder. Pressures are gauge pressures in bar; fill_bar and service_bar are those at fill_c."""

    mark = models.CharField("mark or number", max_length=40, unique=True)
    water_volume_l = models.FloatField("stamped water volume")
    service_bar = models.FloatField("service pressure")
    fill_bar = models.FloatField("pressure when full")
    fill_c = models.FloatField("temperature of that pressure", default=15.0)
    delivered_on = models.DateField()
    connected_at = models.DateTimeField(null=True, blank=True)
    empty_at = models.DateTimeField(null=True, blank=True)
    returned_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["-delivered_on", "-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(water_volume_l__gt=0, fill_bar__gt=0, service_bar__gt=0),
                name="room_cylinder_has_size",
            ),
            models.UniqueConstraint(
                models.Value(1),
                condition=Q(connected_at__isnull=False, empty_at__isnull=True, returned_on__isnull=True),
                name="room_one_cylinder_connected",
            ),
            models.CheckConstraint(
                condition=Q(empty_at__isnull=True) | Q(connected_at__isnull=False),
                name="room_empty_was_connected",
            ),
        ]

    def __str__(self) -> str:
        return self.mark

    @property
    def state(self) -> str:
        """Where it is in its round: "full", "connected", "empty" or "returned"."""
        if self.returned_on:
            return "returned"
        if self.empty_at:
            return "empty"
        return "connected" if self.connected_at else "full"

    def get_absolute_url(self) -> str:
        return reverse("room:cylinder", args=[self.pk])


class GasUse(models.Model):
    """How much nitrogen a side takes here and what must stay in the cylinder: the shop's own figures.

    low_share: the share of a full cylinder from which on a full one should stand ready to change to.
    """

    side_g = models.FloatField("nitrogen a side takes, g", default=60.0)
    reserve_bar = models.FloatField("gauge pressure below which the cylinder is changed", default=10.0)
    low_share = models.FloatField("share left at which a spare must stand ready", default=0.3)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(id=1), name="room_one_gas_use"),
            models.CheckConstraint(
                condition=Q(side_g__gte=0, reserve_bar__gte=0, low_share__gte=0, low_share__lte=1),
                name="room_gas_use_is_sane",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.side_g:g} g a side"
