from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse


class ReadingKind(models.TextChoices):
    """What is read in the room. Quantity, unit, and plausible range of each are in shop.room.kinds."""

    NITROGEN_BAR = "nitrogen_bar", "Nitrogen gauge"
    ROOM_C = "room_c", "Room temperature"
    ROOM_RH = "room_rh", "Room humidity"
    HOLD_DOWN_KPA = "hold_down_kpa", "Hold-down suction"
    CHIP_KPA = "chip_kpa", "Chip suction"
    HEATER_MA = "heater_ma", "Tip heater current"


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


class Reading(models.Model):
    """One measured value in the stored unit of its kind; only ever added. A correction names the one it replaces."""

    kind = models.CharField(max_length=16, choices=ReadingKind)
    value = models.FloatField()
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, null=True, blank=True, related_name="readings")
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(kind="nitrogen_bar", cylinder__isnull=False)
                | (~Q(kind="nitrogen_bar") & Q(cylinder__isnull=True)),
                name="room_gauge_names_cylinder",
            ),
            models.CheckConstraint(
                condition=~Q(kind="room_rh") | Q(value__gte=0, value__lte=100),
                name="room_humidity_is_a_share",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["kind", "-at", "-id"], name="room_latest_reading"),
            models.Index(fields=["-at", "-id"], name="room_reading_order"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.value:g}"


class LimitKind(models.TextChoices):
    """What the shop sets limits for: what is read, but the gauge (GasUse judges that), and the dew point reckoned."""

    ROOM_C = "room_c", "Room temperature"
    ROOM_RH = "room_rh", "Room humidity"
    DEW_POINT_C = "dew_point_c", "Dew point"
    HOLD_DOWN_KPA = "hold_down_kpa", "Hold-down suction"
    CHIP_KPA = "chip_kpa", "Chip suction"
    HEATER_MA = "heater_ma", "Tip heater current"


#: The four limits, from low to high; those that are set must stand in this order.
LIMIT_ORDER = ("hold_below", "care_below", "care_above", "hold_above")


class Limit(models.Model):
    """The shop's own limits for a kind of reading, in its stored unit. Outside care_*: care. Outside hold_*: hold."""

    kind = models.CharField(max_length=16, choices=LimitKind, unique=True)
    hold_below = models.FloatField(null=True, blank=True)
    care_below = models.FloatField(null=True, blank=True)
    care_above = models.FloatField(null=True, blank=True)
    hold_above = models.FloatField(null=True, blank=True)
    what_to_do = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(LimitKind)), name="room_limit_kind_known"),
            # a limit that is not set makes its comparison unknown, which a CHECK lets pass
            models.CheckConstraint(condition=Q(hold_below__lte=models.F("care_below")), name="room_limit_low_in_order"),
            models.CheckConstraint(
                condition=Q(care_below__lte=models.F("care_above")), name="room_limit_care_in_order"
            ),
            models.CheckConstraint(
                condition=Q(care_above__lte=models.F("hold_above")), name="room_limit_high_in_order"
            ),
            models.CheckConstraint(
                condition=Q(hold_below__lte=models.F("hold_above")), name="room_limit_hold_in_order"
            ),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()


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
