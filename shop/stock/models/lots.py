"""One delivery of an item, and what was said of it."""

from datetime import date, timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce
from django.urls import reverse

from shop.finding import Folded
from shop.stock.models.catalogue import Item, Supplier
from shop.stock.models.orders import OrderLine


class Lot(models.Model):
    """One delivery of an item.

    last_day: the last day it may be used, in the room's zone: the lot's own best-before date, else the day it was made
    (or, if unknown, received) plus the item's shelf days; None where neither is known. order_line: what it came on,
    None for a delivery that was not on an order. unit_cost: for one of the item's unit, in the room's currency, to so
    many places that a price of a gallon comes back from it as it was typed. on_hand, taken: sums over its movements
    kept in their transactions, of all and of what was used, tested or spoiled, less what was undone.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="lots", db_index=False)  # indexed below
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    order_line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, null=True, blank=True, related_name="lots")
    code = models.CharField("supplier's lot code", max_length=60)
    received_on = models.DateField()
    made_on = models.DateField(null=True, blank=True)
    best_before = models.DateField(null=True, blank=True)
    last_day = models.DateField(null=True, blank=True)
    unit_cost = models.DecimalField(max_digits=16, decimal_places=10, null=True, blank=True)
    on_hand = models.IntegerField(default=0)
    taken = models.IntegerField(default=0)
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
            models.CheckConstraint(condition=Q(taken__gte=0), name="stock_taken_not_below_zero"),
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
            ),
            models.Index(Folded("code"), name="stock_lot_code"),
            models.Index(fields=["item", "-received_on", "-id"], name="stock_lots_of_item"),
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


class RemarkKind(models.TextChoices):
    HELD = "held", "Put on hold"
    RELEASED = "released", "Released"
    CORRECTED = "corrected", "Put right"


class Remark(models.Model):
    """A dated line about a lot that moves no stock: held, released, its facts put right. Only ever added.

    money: what changed of its price, for those who see prices; the note says no more than that it did.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="remarks")
    kind = models.CharField(max_length=10, choices=RemarkKind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=1500, blank=True)
    money = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(RemarkKind)), name="stock_remark_kind_known")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.lot_id}"
