"""What the outlook of each item came to when it was last worked out."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from shop.stock.models.catalogue import Item


class ReorderFigure(models.Model):
    """The few figures of an item's outlook that lists and concerns show, so that today's page need not reckon.

    Worked out anew, never typed: a row says nothing that could not be had again. worked_at: when; state: a fingerprint
    of what it was worked out from, see outlook.states. usable, on_order: what there was then, in the item's unit;
    booked: what bookings were to take of it. weeks: of past use it rests on. The rest is None where there is nothing to
    go by, neither past use nor a stated expectation: per_week expected use; reorder_point; order_by the last day to
    order for the item's service level, runs_out_on the day by which it is as likely as not that some demand could not
    be met (None: not within the look); quantity to order then; chance_out that some demand can not be met at some time
    from worked_at until an order placed then comes, 0 to 1.
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, primary_key=True, related_name="figure")
    worked_at = models.DateTimeField()
    state = models.CharField(max_length=32)
    usable = models.PositiveIntegerField()
    on_order = models.PositiveIntegerField()
    booked = models.PositiveIntegerField()
    weeks = models.PositiveIntegerField()
    per_week = models.FloatField(null=True, blank=True)
    reorder_point = models.IntegerField(null=True, blank=True)
    order_by = models.DateField(null=True, blank=True)
    quantity = models.PositiveIntegerField(null=True, blank=True)
    runs_out_on = models.DateField(null=True, blank=True)
    chance_out = models.FloatField(null=True, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(chance_out__isnull=True) | Q(chance_out__gte=0, chance_out__lte=1),
                name="stock_chance_out_is_a_chance",
            ),
        ]

    def __str__(self) -> str:
        return f"figures of {self.item_id}"

    @property
    def position(self) -> int:
        """Usable stock and open orders: what is held against the reorder point."""
        return self.usable + self.on_order
