"""Where things are kept, and what stands on the wall: numbers, shut-offs, extinguishers."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.urls import reverse

from shop.safety.models.substances import Substance


class LimitBy(models.TextChoices):
    """Who set the limit on flammable liquid in a place."""

    FIRE = "fire", "The fire authority"
    INSURER = "insurer", "The insurer"
    LANDLORD = "landlord", "The landlord"
    SHOP = "shop", "The shop itself"


class Place(models.Model):
    """A room, cupboard or shelf in which hazardous things are kept, perhaps within another.

    closed: a cupboard or small room in which air does not change; has_heat, has_spark: what gets hot, burns or sparks
    is in it. volume_l: its free volume (furniture out), for rooms; air_changes_h: how often its air changes in an
    hour. limit_ml: the most flammable liquid that may be in it, everything within it counted, and who set that.
    """

    name = models.CharField(max_length=80)
    within = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="holds")
    closed = models.BooleanField("closed, its air does not change", default=False)
    has_heat = models.BooleanField("something in it gets hot or burns", default=False)
    has_spark = models.BooleanField("something in it may spark", default=False)
    volume_l = models.PositiveIntegerField("free volume", null=True, blank=True)
    air_changes_h = models.FloatField("changes of air in an hour", null=True, blank=True)
    limit_ml = models.PositiveIntegerField("most flammable liquid", null=True, blank=True)
    limit_by = models.CharField("who set it", max_length=8, choices=LimitBy, blank=True)
    limit_on = models.DateField("when", null=True, blank=True)
    limit_note = models.CharField("how it is written down", max_length=200, blank=True)
    note = models.CharField(max_length=300, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(Lower("name"), name="safety_place_name_once"),
            models.CheckConstraint(
                condition=Q(limit_ml__isnull=True) | ~Q(limit_by=""), name="safety_limit_says_who_set_it"
            ),
            models.CheckConstraint(
                condition=Q(air_changes_h__isnull=True) | Q(air_changes_h__gte=0), name="safety_air_changes_not_below"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("safety:place", args=[self.pk])


class Kept(models.Model):
    """That a substance is kept in a place. amount: ml of a liquid, g of a solid, ml of water volume of cylinders.

    empties: empty cylinders of it, which are told apart from the full ones. holds_stock: what is on hand of it by the
    ledger stands here too. What stands open here is counted besides (Container).
    """

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="kept")
    substance = models.ForeignKey(Substance, on_delete=models.PROTECT, related_name="kept")
    amount = models.PositiveIntegerField(null=True, blank=True)
    empties = models.BooleanField("empty cylinders", default=False)
    holds_stock = models.BooleanField("its stock stands here", default=False)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering: ClassVar = ["place", "substance", "empties"]
        verbose_name_plural = "kept"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["place", "substance", "empties"], name="safety_kept_once"),
            models.UniqueConstraint(
                fields=["substance"], condition=Q(holds_stock=True), name="safety_stock_stands_in_one_place"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.substance} in {self.place}"


class FindingAnswer(models.Model):
    """That the shop knows of things that stand together and should not, why they stay, and through which day.

    key: of the finding (shop.calc.apart); words: what was found, as it read then. Never changed; the latest counts.
    """

    key = models.CharField(max_length=80)
    words = models.CharField(max_length=300)
    because = models.CharField("why they stay", max_length=300)
    until = models.DateField("known until")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["key"], name="safety_answer_to")]

    def __str__(self) -> str:
        return f"{self.words}: {self.because}"


class CallNumber(models.Model):
    """Whom to call, on every sheet and on the wall."""

    name = models.CharField("who", max_length=80)
    number = models.CharField(max_length=40)
    when = models.CharField("when to call", max_length=120, blank=True)
    order = models.PositiveSmallIntegerField(default=100)

    class Meta:
        ordering: ClassVar = ["order", "id"]

    def __str__(self) -> str:
        return f"{self.name}: {self.number}"

    @property
    def dialled(self) -> str:
        """The number as a phone takes it."""
        return "".join(sign for sign in self.number if (sign.isascii() and sign.isdigit()) or sign in "+*#")


class ShutOff(models.Model):
    """What is shut off where: mains, gas, vacuum pump, heating current."""

    what = models.CharField(max_length=80)
    where = models.CharField(max_length=120)
    how = models.CharField(max_length=120, blank=True)
    order = models.PositiveSmallIntegerField(default=100)

    class Meta:
        ordering: ClassVar = ["order", "id"]

    def __str__(self) -> str:
        return self.what


class Extinguisher(models.Model):
    """An extinguisher, blanket or bucket: where it hangs, what it is for, and what it must not be used on."""

    kind = models.CharField(max_length=80)
    where = models.CharField(max_length=120)
    use_on = models.CharField(max_length=120, blank=True)
    never_on = models.CharField(max_length=120, blank=True)
    order = models.PositiveSmallIntegerField(default=100)

    class Meta:
        ordering: ClassVar = ["order", "id"]

    def __str__(self) -> str:
        return f"{self.kind}, {self.where}"
