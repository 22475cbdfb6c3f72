from datetime import date, timedelta
from typing import ClassVar, TypeVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce
from django.urls import reverse

Named = TypeVar("Named", bound=models.Model)


class NameManager(models.Manager[Named]):
    """Lets starter content name a row instead of numbering it."""

    def get_by_natural_key(self, name: str) -> Named:
        return self.get(name=name)


class Supplier(models.Model):
    name = models.CharField(max_length=80, unique=True)
    lead_days = models.PositiveIntegerField("promised lead time, days", null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


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
    """

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=10, choices=ItemKind)
    unit = models.CharField(max_length=6, choices=StockUnit, default=StockUnit.EACH)
    blank_in = models.PositiveSmallIntegerField("blank size", choices=BlankSize, null=True, blank=True)
    minimum = models.PositiveIntegerField(default=0)
    shelf_days = models.PositiveIntegerField(null=True, blank=True)
    warn_days = models.PositiveIntegerField(default=30)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
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
        ]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.name,)

    def get_absolute_url(self) -> str:
        return reverse("stock:item", args=[self.pk])


class Lot(models.Model):
    """One delivery of an item.

    last_day: the last day it may be used, in the room's zone: the lot's own best-before date, else the day it was made
    (or, if unknown, received) plus the item's shelf days; None where neither is known.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="lots", db_index=False)  # indexed below
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    code = models.CharField("supplier's lot code", max_length=60)
    received_on = models.DateField()
    made_on = models.DateField(null=True, blank=True)
    best_before = models.DateField(null=True, blank=True)
    last_day = models.DateField(null=True, blank=True)
    unit_cost = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    on_hand = models.IntegerField(default=0)
    held_at = models.DateTimeField(null=True, blank=True)
    held_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    held_why = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="stock_on_hand_not_below_zero"),
            models.UniqueConstraint("item", Coalesce("supplier", 0), "code", name="stock_lot_code_once"),
            models.CheckConstraint(
                condition=Q(held_at__isnull=True, held_by__isnull=True)
                | Q(held_at__isnull=False, held_by__isnull=False),
                name="stock_hold_has_a_name",
            ),
        ]
        indexes: ClassVar = [
            # Only the lots with something in them: they stay few however long the shop runs.
            models.Index(
                fields=["item", "last_day", "received_on", "id"],
                condition=Q(on_hand__gt=0),
                name="stock_first_expired",
            )
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        return reverse("stock:lot", args=[self.pk])

    @property
    def is_held(self) -> bool:
        return self.held_at is not None

    def is_past_date(self, day: date) -> bool:
        """Usable through the last day of its date; past it the day after."""
        return self.last_day is not None and day > self.last_day


def last_day_of(
    *, best_before: date | None, made_on: date | None, received_on: date, shelf_days: int | None
) -> date | None:
    """The rule for Lot.last_day."""
    if best_before is not None:
        return best_before
    if shelf_days is None:
        return None
    return (made_on or received_on) + timedelta(days=shelf_days)


class MovementKind(models.TextChoices):
    RECEIVED = "received", "Received"
    USED = "used", "Used"
    TESTED = "tested", "Tested"
    SPOILED = "spoiled", "Spoiled"
    RETURNED = "returned", "Returned"
    COUNTED = "counted", "Counted"
    REVERSED = "reversed", "Reversed"


class Defect(models.Model):
    """What can be wrong with a blank or another item: the shop's own list."""

    name = models.CharField(max_length=60, unique=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    objects = NameManager()

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name

    def natural_key(self) -> tuple[str]:
        return (self.name,)


class Movement(models.Model):
    """One line of the stock ledger; only ever added (the database refuses the rest).

    item: the lot's item, kept here too so that the ledger of one item is read by an index of its own. change: what it
    adds to the lot's on hand, in the item's unit, negative for what leaves. balance: the lot's on hand after it.
    at: when it happened; recorded_at: when it was written.
    """

    # The composite indexes below serve these keys; one more index for each would only slow the writing.
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="movements", db_index=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+", db_index=False)
    kind = models.CharField(max_length=10, choices=MovementKind)
    change = models.IntegerField()
    balance = models.IntegerField()
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", db_index=False)
    defect = models.ForeignKey(
        Defect, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by")
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(balance__gte=0), name="stock_balance_not_below_zero"),
            models.CheckConstraint(
                condition=(Q(kind="received") & Q(change__gt=0))
                | (Q(kind__in=["used", "tested", "spoiled", "returned"]) & Q(change__lt=0))
                | Q(kind__in=["counted", "reversed"]),
                name="stock_change_has_its_sign",
            ),
            models.CheckConstraint(
                condition=Q(kind="reversed", reverses__isnull=False) | (~Q(kind="reversed") & Q(reverses__isnull=True)),
                name="stock_reversal_names_one",
            ),
            models.CheckConstraint(
                condition=Q(defect__isnull=True) | Q(kind="spoiled"), name="stock_defect_when_spoiled"
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["-at", "-id"], name="stock_ledger_order"),
            models.Index(fields=["lot", "-id"], name="stock_lot_ledger"),
            models.Index(fields=["item", "-at", "-id"], name="stock_item_ledger"),
            models.Index(fields=["kind", "-at", "-id"], name="stock_kind_ledger"),
            models.Index(fields=["by", "-at", "-id"], name="stock_person_ledger"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.change:+d}"


class RemarkKind(models.TextChoices):
    HELD = "held", "Put on hold"
    RELEASED = "released", "Released"
    CORRECTED = "corrected", "Put right"


class Remark(models.Model):
    """A dated line about a lot that moves no stock: held, released, its facts put right. Only ever added."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="remarks")
    kind = models.CharField(max_length=10, choices=RemarkKind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=1500, blank=True)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(RemarkKind)), name="stock_remark_kind_known")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.lot_id}"
