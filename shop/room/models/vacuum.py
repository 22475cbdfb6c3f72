"""The vacuum line: its parts in order, and what its gauges showed when it was clean."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.duties.models import Duty
from shop.room.models.readings import ReadingKind


class PartKind(models.TextChoices):
    """What a part of the line is, from the disc on to the pump."""

    PORTS = "ports", "Platter ports"
    HOLD_DOWN = "hold_down", "Hold-down"
    HOSE = "hose", "Chip hose"
    TRAP = "trap", "Trap"
    FILTER = "filter", "Filter"
    PUMP = "pump", "Pump"


class LinePart(models.Model):
    """One part of the vacuum line. disc_in: of ports, which disc they hold; duty: the care that sees to it."""

    kind = models.CharField(max_length=10, choices=PartKind)
    name = models.CharField(max_length=60, unique=True)
    order = models.PositiveSmallIntegerField(default=100)
    disc_in = models.PositiveSmallIntegerField("disc it holds, inch", null=True, blank=True)
    duty = models.ForeignKey(Duty, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    note = models.CharField(max_length=200, blank=True)
    is_active = models.BooleanField("the line has it", default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["order", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(disc_in__isnull=True) | Q(kind="ports"), name="room_only_ports_are_for_a_disc"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("room:line")


#: The points at which the line's suction is read, from the platter and the head on to the pump.
SUCTION = (ReadingKind.HOLD_DOWN_KPA, ReadingKind.CHIP_KPA, ReadingKind.TRAP_KPA, ReadingKind.PUMP_KPA)


class LineBaseline(models.Model):
    """What a point showed when the line was clean; only ever added, the latest of a kind counts.

    target, sd: mean and standard deviation of so many readings from first_at to last_at, kPa. conditions: under which
    they were taken, and those after are to be.
    """

    kind = models.CharField(max_length=16, choices=[(kind.value, kind.label) for kind in SUCTION])
    target = models.FloatField()
    sd = models.FloatField("standard deviation")
    count = models.PositiveIntegerField("readings")
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()
    conditions = models.CharField("under which conditions", max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(sd__gt=0, target__gte=0, count__gte=2), name="room_baseline_is_one"),
        ]
        indexes: ClassVar = [models.Index(fields=["kind", "-id"], name="room_latest_baseline")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.target:g}"


class LineRules(models.Model):
    """The one row of the shop's own rules for the line.

    talc_duty: the care that treats it with talc; talc_dew_c: the room's dew point from which on it is due before
    cutting, None for never; talc_days: so long a treatment holds.
    """

    talc_duty = models.ForeignKey(Duty, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    talc_dew_c = models.FloatField("dew point from which talc is due", null=True, blank=True)
    talc_days = models.PositiveSmallIntegerField("days a treatment holds", default=3)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "line rules"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(id=1), name="room_one_row_of_line_rules"),
            models.CheckConstraint(condition=Q(talc_days__gte=1), name="room_talc_holds_a_day"),
        ]

    def __str__(self) -> str:
        return "line rules"
