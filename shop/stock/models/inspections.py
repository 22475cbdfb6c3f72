"""How a delivery was looked over, and what came of it."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.stock.models.catalogue import Defect
from shop.stock.models.lots import Lot
from shop.stock.models.movements import Movement


class Outcome(models.TextChoices):
    ACCEPT = "accept", "Accept"
    HOLD = "hold", "Hold"
    RETURN = "return", "Return"


class Inspection(models.Model):
    """A look over some of a lot. looked_at: how many were looked at, in the item's unit. Only ever added."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="inspections")
    looked_at = models.PositiveIntegerField()
    outcome = models.CharField(max_length=10, choices=Outcome)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(outcome__in=list(Outcome)), name="stock_outcome_known"),
            models.CheckConstraint(condition=Q(looked_at__gt=0), name="stock_inspection_looked_at_some"),
        ]

    def __str__(self) -> str:
        return f"{self.get_outcome_display()} {self.lot_id}"

    @property
    def faulty(self) -> int:
        """How many were found with a defect."""
        return sum(found.quantity for found in self.found.all())


class InspectionDefect(models.Model):
    """So many of those looked at had this defect. Only ever added.

    movement: the line of the ledger that wrote them off, None if they were left in the lot or went back with it.
    """

    inspection = models.ForeignKey(Inspection, on_delete=models.PROTECT, related_name="found")
    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField()
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, null=True, blank=True, related_name="found_by")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["inspection", "defect"], name="stock_defect_once_an_inspection"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="stock_found_some"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.defect_id}"
