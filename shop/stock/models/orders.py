"""What was asked of a supplier, when, and what came."""

from datetime import date, timedelta
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.stock.models.catalogue import Item, Supplier


class OrderState(models.TextChoices):
    DRAFT = "draft", "Draft"
    SENT = "sent", "Sent"
    PART = "part", "Partly received"
    RECEIVED = "received", "Received"
    CLOSED = "closed", "Closed short"
    DROPPED = "dropped", "Dropped"


#: Something is still to come of these.
UNDER_WAY = frozenset({OrderState.SENT, OrderState.PART})


class Order(models.Model):
    """One order from one supplier. A draft may be changed; once sent, its lines stand as they were sent.

    sent_on: the day it went to the supplier, in the room's zone; expected_on: when all of it is to be there, as
    promised or as the supplier said since. Who did what, and when, is in its steps.
    """

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(max_length=10, choices=OrderState, default=OrderState.DRAFT)
    sent_on = models.DateField(null=True, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    received_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(state__in=list(OrderState)), name="stock_order_state_known"),
            models.CheckConstraint(
                condition=Q(state__in=["draft", "dropped"], sent_on__isnull=True)
                | (~Q(state__in=["draft", "dropped"]) & Q(sent_on__isnull=False)),
                name="stock_sent_has_a_day",
            ),
            models.CheckConstraint(
                condition=Q(state="received", received_on__isnull=False) | ~Q(state="received"),
                name="stock_received_has_a_day",
            ),
        ]
        indexes: ClassVar = [
            # Those under way stay few however long the shop runs.
            models.Index(fields=["expected_on"], condition=Q(state__in=["sent", "part"]), name="stock_orders_under_way")
        ]

    def __str__(self) -> str:
        return f"Order {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("stock:order", args=[self.pk])

    @property
    def is_draft(self) -> bool:
        return self.state == OrderState.DRAFT

    @property
    def is_under_way(self) -> bool:
        return self.state in UNDER_WAY

    def is_late(self, day: date) -> bool:
        """Something is still to come of it, and the day it was promised for has passed."""
        return self.is_under_way and self.expected_on is not None and day > self.expected_on

    @property
    def promised_on(self) -> date | None:
        """The day by the supplier's promised lead time; None if it isn't sent or no lead time is promised."""
        if self.sent_on is None or self.supplier.lead_days is None:
            return None
        return self.sent_on + timedelta(days=self.supplier.lead_days)


class OrderLine(models.Model):
    """So much of one item, in its unit. arrived: what came of it, less what was undone; it may be more than asked for.

    is_open: something of it is still to come; kept here too, so that what is on its way is found by an index that
    stays small. unit_cost: the price asked for one of the item's unit, in the room's currency. first_on, last_on: the
    days its first and latest part came.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="order_lines")
    quantity = models.PositiveIntegerField()
    arrived = models.IntegerField(default=0)
    is_open = models.BooleanField(default=False)
    unit_cost = models.DecimalField(max_digits=16, decimal_places=10, null=True, blank=True)
    first_on = models.DateField(null=True, blank=True)
    last_on = models.DateField(null=True, blank=True)
    #: Read along by queries.lines_with_lots: what became of the lots that came on it.
    gone: Any

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "item"], name="stock_item_once_an_order"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="stock_order_asks_for_some"),
            models.CheckConstraint(condition=Q(arrived__gte=0), name="stock_arrived_not_below_zero"),
            models.CheckConstraint(
                condition=Q(is_open=False) | Q(arrived__lt=F("quantity")), name="stock_open_line_lacks_some"
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["item"], condition=Q(is_open=True), name="stock_lines_to_come")]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item_id}"

    @property
    def open_quantity(self) -> int:
        """What is still to come of it, in the item's unit."""
        return max(0, self.quantity - self.arrived)

    @property
    def share(self) -> float:
        """How much of it came, 0 to 1."""
        return min(1.0, self.arrived / self.quantity)


#: Lines of which something is still to come, for a filter over lines.
STILL_TO_COME = Q(is_open=True)


class StepKind(models.TextChoices):
    DRAFTED = "drafted", "Drafted"
    CHANGED = "changed", "Changed"
    SENT = "sent", "Sent"
    PROMISED = "promised", "New date"
    ARRIVED = "arrived", "Something came"
    UNDONE = "undone", "Arrival undone"
    CLOSED = "closed", "Closed short"
    DROPPED = "dropped", "Dropped"


class OrderStep(models.Model):
    """What was done with an order, by whom and when. Only ever added."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=10, choices=StepKind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(StepKind)), name="stock_step_kind_known")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.order_id}"
