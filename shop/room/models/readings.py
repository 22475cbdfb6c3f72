"""What is read in the room, and the shop's own limits for it."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.room.models.cylinders import Cylinder


class ReadingKind(models.TextChoices):
    """What is read in the room. Quantity, unit, and plausible range of each are in shop.room.kinds."""

    NITROGEN_BAR = "nitrogen_bar", "Nitrogen gauge"
    ROOM_C = "room_c", "Room temperature"
    ROOM_RH = "room_rh", "Room humidity"
    STORE_C = "store_c", "Store temperature"
    STORE_RH = "store_rh", "Store humidity"
    HOLD_DOWN_KPA = "hold_down_kpa", "Hold-down suction"
    CHIP_KPA = "chip_kpa", "Chip suction"
    TRAP_KPA = "trap_kpa", "Suction at the trap"
    PUMP_KPA = "pump_kpa", "Suction at the pump"
    HEATER_MA = "heater_ma", "Tip heater current"


class Reading(models.Model):
    """One measured value in the stored unit of its kind; only ever added. A correction names the one it replaces.

    instrument: what took it, where nobody read it by eye; `by` is then who answers for the instrument. beside_c: the
    temperature beside the cylinder where it was read with the gauge; it goes before any read elsewhere in the room.
    """

    kind = models.CharField(max_length=16, choices=ReadingKind)
    value = models.FloatField()
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, null=True, blank=True, related_name="readings")
    instrument = models.ForeignKey(
        "room.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="readings", db_index=False
    )
    beside_c = models.FloatField("temperature beside the cylinder", null=True, blank=True)
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
                condition=~Q(kind__in=["room_rh", "store_rh"]) | Q(value__gte=0, value__lte=100),
                name="room_humidity_is_a_share",
            ),
            models.CheckConstraint(
                condition=Q(beside_c__isnull=True) | Q(kind="nitrogen_bar"), name="room_beside_a_gauge_only"
            ),
            # however often it is sent
            models.UniqueConstraint(
                fields=["instrument", "kind", "at"],
                condition=Q(instrument__isnull=False),
                name="room_instrument_reads_once",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["kind", "-at", "-id"], name="room_latest_reading"),
            models.Index(fields=["-at", "-id"], name="room_reading_order"),
            models.Index(
                fields=["cylinder", "-at", "-id"], condition=Q(cylinder__isnull=False), name="room_gauge_of_cylinder"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.value:g}"

    @property
    def taken_by(self) -> str:
        """Who or what took it."""
        return self.instrument.name if self.instrument is not None else self.by.name


class LimitKind(models.TextChoices):
    """What the shop sets limits for: what is read, but the gauge (GasUse judges that), and the dew point reckoned."""

    ROOM_C = "room_c", "Room temperature"
    ROOM_RH = "room_rh", "Room humidity"
    DEW_POINT_C = "dew_point_c", "Dew point"
    STORE_C = "store_c", "Store temperature"
    STORE_RH = "store_rh", "Store humidity"
    HOLD_DOWN_KPA = "hold_down_kpa", "Hold-down suction"
    CHIP_KPA = "chip_kpa", "Chip suction"
    TRAP_KPA = "trap_kpa", "Suction at the trap"
    PUMP_KPA = "pump_kpa", "Suction at the pump"
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
