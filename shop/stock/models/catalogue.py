"""What the shop keeps, whom it comes from, and what can be wrong with it."""

from typing import ClassVar, TypeVar

from django.db import models
from django.db.models import Q
from django.urls import reverse

Named = TypeVar("Named", bound=models.Model)


class NameManager(models.Manager[Named]):
    """Lets starter content name a row instead of numbering it."""

    def get_by_natural_key(self, name: str) -> Named:
        return self.get(name=name)


class Supplier(models.Model):
    name = models.CharField(max_length=80, unique=True)
    lead_days = models.PositiveIntegerField("promised lead time, days", null=True, blank=True)
    lead_note = models.CharField("about its lead time", max_length=200, blank=True)
    contact = models.CharField("where orders go", max_length=200, blank=True)
    note = models.CharField(max_length=300, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("stock:supplier", args=[self.pk])


class ItemKind(models.TextChoices):
    BLANK = "blank", "Blank"
    STYLUS = "stylus", "Stylus"
    LIQUID = "liquid", "Liquid"
    PART = "part", "Part or consumable"


class StockUnit(models.TextChoices):
    EACH = "each", "each"
    ML = "ml", "ml"
    GRAM = "g", "g"
    MM = "mm", "mm"


class BlankSize(models.IntegerChoices):
    """Blank diameters in inches, for 12, 10 and 7 inch records (common practice, no source)."""

    FOURTEEN = 14, "14 inch"
    TWELVE = 12, "12 inch"
    TEN = 10, "10 inch"


class Item(models.Model):
    """A kind of thing kept in stock. Quantities are whole numbers of its unit.

    minimum: what should never be undershot, 0 for none. shelf_days: the shop's own figure for lots that carry no date.
    warn_days: how long before a lot's last day it is a concern.

    How it is ordered, all the shop's own figures: pack_size and minimum_order in its unit, 0 for no minimum;
    service_level: the chance, 0 to 1, that no order cycle runs short; cover_weeks: how many weeks an order is to last
    beyond its lead time; expected_weekly: use expected a week while there is little history; shelf_room: the most there
    is room for, in its unit. place: where it stands in the room.
    """

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=10, choices=ItemKind)
    unit = models.CharField(max_length=6, choices=StockUnit, default=StockUnit.EACH)
    blank_in = models.PositiveSmallIntegerField("blank size", choices=BlankSize, null=True, blank=True)
    minimum = models.PositiveIntegerField(default=0)
    shelf_days = models.PositiveIntegerField(null=True, blank=True)
    warn_days = models.PositiveIntegerField(default=30)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    pack_size = models.PositiveIntegerField(default=1)
    minimum_order = models.PositiveIntegerField(default=0)
    service_level = models.FloatField(default=0.95)
    cover_weeks = models.PositiveIntegerField(default=8)
    expected_weekly = models.FloatField(null=True, blank=True)
    shelf_room = models.PositiveIntegerField(null=True, blank=True)
    place = models.CharField("where it stands", max_length=60, blank=True)
    note = models.CharField(max_length=300, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    objects = NameManager()

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(kind="blank", blank_in__isnull=False) | (~Q(kind="blank") & Q(blank_in__isnull=True)),
                name="stock_blank_has_size",
            ),
            models.CheckConstraint(condition=Q(pack_size__gte=1), name="stock_pack_holds_some"),
            models.CheckConstraint(
                condition=Q(service_level__gt=0, service_level__lt=1), name="stock_service_level_is_a_chance"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.name,)

    def get_absolute_url(self) -> str:
        return reverse("stock:item", args=[self.pk])


class Defect(models.Model):
    """What can be wrong with a blank or another item: the shop's own list.

    blames_lot: it speaks against the lot it was found in; not so what happened here, such as a knock or old age.
    """

    name = models.CharField(max_length=60, unique=True)
    blames_lot = models.BooleanField(default=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    objects = NameManager()

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.name,)
