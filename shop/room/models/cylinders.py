"""Gas cylinders, and how much gas the shop takes."""

from datetime import date
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.calc.gas.stamps import requalify_by


class Gas(models.TextChoices):
    """What the label of a cylinder says. Only what can be reckoned with is taken into the house."""

    NITROGEN = "nitrogen", "Nitrogen, compressed"


def _person(words: str) -> models.ForeignKey:
    """Who did one step of its round; None where nobody wrote it down."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+", verbose_name=words
    )


class Cylinder(models.Model):
    """A gas cylinder. Pressures are gauge pressures in bar; fill_bar and service_bar are those at fill_c.

    owner: whose it is, "" for the shop's own; rent_month: what it costs a month, in the room's currency. tested_on: the
    month of its last test as stamped, its first day; test_years: how long that holds.
    """

    mark = models.CharField("mark or number", max_length=40, unique=True)
    gas = models.CharField("what the label says", max_length=12, choices=Gas, default=Gas.NITROGEN)
    water_volume_l = models.FloatField("stamped water volume")
    service_bar = models.FloatField("service pressure")
    fill_bar = models.FloatField("pressure when full")
    fill_c = models.FloatField("temperature of that pressure", default=15.0)
    owner = models.CharField("whose it is", max_length=80, blank=True)
    rent_month = models.DecimalField("rent a month", max_digits=10, decimal_places=2, null=True, blank=True)
    tested_on = models.DateField("last test", null=True, blank=True)
    test_years = models.PositiveSmallIntegerField("years a test holds", null=True, blank=True)
    delivered_on = models.DateField()
    delivered_by = _person("taken in by")
    connected_at = models.DateTimeField(null=True, blank=True)
    connected_by = _person("connected by")
    empty_at = models.DateTimeField(null=True, blank=True)
    empty_by = _person("marked empty by")
    returned_on = models.DateField(null=True, blank=True)
    returned_by = _person("marked returned by")
    note = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

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

    @property
    def requalify_by(self) -> date | None:
        """The day from which on its test is due; None where nobody wrote down when it was, or how long it holds."""
        if self.tested_on is None or self.test_years is None:
            return None
        return requalify_by(self.tested_on, self.test_years)


class GasUse(models.Model):
    """How much nitrogen a side takes here and what must stay in the cylinder: the shop's own figures.

    low_share: the share of a full cylinder from which on a full one should stand ready to change to. lead_days: from an
    order until the cylinder is here.
    """

    side_g = models.FloatField("nitrogen a side takes, g", default=60.0)
    reserve_bar = models.FloatField("gauge pressure below which the cylinder is changed", default=10.0)
    low_share = models.FloatField("share left at which a spare must stand ready", default=0.3)
    lead_days = models.PositiveSmallIntegerField("days from an order until it is here", default=7)
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


class ExplainedLoss(models.Model):
    """What somebody wrote down of gas that went and that nothing explained; only ever added.

    It stands for all that went from the cylinder up to `until`, the moment of the gauge reading that showed it. gone_g:
    what had gone by then of what was open.
    """

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="explained_losses")
    until = models.DateTimeField()
    gone_g = models.FloatField("nitrogen that went, g")
    what = models.CharField("what it was", max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(what=""), name="room_explained_says_what"),
            models.UniqueConstraint(fields=["cylinder", "until"], name="room_loss_explained_once"),
        ]

    def __str__(self) -> str:
        return f"{self.cylinder}: {self.what}"


class GasForecast(models.Model):
    """The one row of what the outlook for gas came to, so that today's page need not reckon. Worked out, never typed.

    cylinder: the one that was connected; change_soonest, change_likely: the days on which it is used up, as early as
    one time in twenty and in the middle; order_by: the last day to order, so that what is here, spares counted, lasts
    until the order comes, nineteen times in twenty. None: further off than is told. side_g to spread_g: what the room
    is used to use (`calc.gas.GasHabit`), against which losses are held; None for not worked out.
    """

    cylinder = models.ForeignKey(Cylinder, on_delete=models.CASCADE, related_name="+")
    worked_at = models.DateTimeField()
    change_soonest = models.DateField(null=True, blank=True)
    change_likely = models.DateField(null=True, blank=True)
    order_by = models.DateField(null=True, blank=True)
    spares = models.PositiveSmallIntegerField(default=0)
    side_g = models.FloatField(null=True, blank=True)
    side_most_g = models.FloatField(null=True, blank=True)
    other_g = models.FloatField(null=True, blank=True)
    spread_g = models.FloatField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=Q(id=1), name="room_one_gas_forecast")]

    def __str__(self) -> str:
        return f"gas as of {self.worked_at:%Y-%m-%d %H:%M}"
