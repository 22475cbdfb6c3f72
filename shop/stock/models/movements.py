"""The stock ledger, and what it adds up to week by week."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.stock.models.catalogue import Defect, Item
from shop.stock.models.lots import Lot


class MovementKind(models.TextChoices):
    RECEIVED = "received", "Received"
    USED = "used", "Used"
    TESTED = "tested", "Tested"
    SPOILED = "spoiled", "Spoiled"
    RETURNED = "returned", "Returned"
    COUNTED = "counted", "Counted"
    REVERSED = "reversed", "Reversed"


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
            # What was spoiled stays little beside the rest.
            models.Index(fields=["lot", "defect"], condition=Q(kind="spoiled"), name="stock_lot_spoiled"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.change:+d}"


#: What counts as use, for forecasting: what left the shelf by being needed. Not what went back, nor what a count found.
USE = frozenset({MovementKind.USED, MovementKind.TESTED, MovementKind.SPOILED})


class WeekUse(models.Model):
    """How much of an item was used, tested or spoiled in one week, in its unit, less what was undone.

    A sum kept with each movement, in its transaction, so that ten years of weeks are read without summing the ledger.
    monday: the first day of the week by the room's wall clock, of when the movement happened.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="weeks", db_index=False)
    monday = models.DateField()
    quantity = models.PositiveIntegerField()

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "monday"], name="stock_one_sum_a_week"),
            models.CheckConstraint(condition=Q(quantity__gte=0), name="stock_week_not_below_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} in the week of {self.monday}"
