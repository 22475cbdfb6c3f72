"""Files that were sent to be taken in, and the use of the time before the ledger, which comes only that way."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.stock.models.catalogue import Item


class SheetKind(models.TextChoices):
    SUPPLIERS = "suppliers", "Suppliers"
    ITEMS = "items", "Items"
    LOTS = "lots", "Lots with opening stock"
    PAST_USE = "past-use", "Past use"


class IntakeState(models.TextChoices):
    READING = "reading", "Being read"
    ASKS = "asks", "Has a question"
    FAULTY = "faulty", "Has faults"
    READY = "ready", "Can be taken in"
    TAKING = "taking", "Being taken in"
    DONE = "done", "Taken in"
    DROPPED = "dropped", "Left"
    FAILED = "failed", "Broke off"


#: Work in the background is to do.
AT_WORK = frozenset({IntakeState.READING, IntakeState.TAKING})


class Intake(models.Model):
    """One file that was sent, and what became of it: read, perhaps asked about, taken in as a whole or not at all.

    name: as it was called where it came from; file: its random name in the data folder, "" once it is gone; digest:
    SHA-256 of its bytes. told: what was found, for the page, under "notes", "asks", "faults", "doubts", "sample";
    answers: to what was asked. rows: with something in them; new, kept: of those, what is to come (or came) in, and
    what was here already. working_since: somebody is at it; a time long past means that they were cut off.
    """

    kind = models.CharField(max_length=10, choices=SheetKind)
    name = models.CharField(max_length=120)
    size = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)
    file = models.CharField(max_length=40, blank=True)
    state = models.CharField(max_length=10, choices=IntakeState, default=IntakeState.READING)
    told = models.JSONField(default=dict)
    answers = models.JSONField(default=dict)
    rows = models.PositiveIntegerField(default=0)
    new = models.PositiveIntegerField(default=0)
    kept = models.PositiveIntegerField(default=0)
    fault_count = models.PositiveIntegerField(default=0)
    doubt_count = models.PositiveIntegerField(default=0)
    sent_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    working_since = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(SheetKind)), name="stock_sheet_kind_known"),
            models.CheckConstraint(condition=Q(state__in=list(IntakeState)), name="stock_intake_state_known"),
            models.CheckConstraint(
                condition=Q(state="done", taken_at__isnull=False, taken_by__isnull=False) | ~Q(state="done"),
                name="stock_taken_in_has_a_name",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["digest", "kind"], name="stock_same_file")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("stock:intake", args=[self.pk])

    @property
    def is_at_work(self) -> bool:
        return self.state in AT_WORK


class PastUse(models.Model):
    """How much of an item was used before its ledger tells, in its unit: on one day, or in one whole week.

    The ledger's own weeks are WeekUse; the two never speak of the same days. day: the day, or the week's Monday;
    monday: the first day of the week it falls in; intake: the file it came with.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="past_use", db_index=False)
    day = models.DateField()
    whole_week = models.BooleanField()
    monday = models.DateField()
    quantity = models.PositiveIntegerField()
    intake = models.ForeignKey(Intake, on_delete=models.PROTECT, related_name="past_use")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "day", "whole_week"], name="stock_past_use_once"),
            models.CheckConstraint(condition=Q(quantity__gte=0), name="stock_past_use_not_below_zero"),
            models.CheckConstraint(condition=Q(whole_week=False) | Q(day=F("monday")), name="stock_week_by_monday"),
        ]
        indexes: ClassVar = [models.Index(fields=["item", "monday"], name="stock_past_weeks")]

    def __str__(self) -> str:
        return f"{self.quantity} {'in the week of' if self.whole_week else 'on'} {self.day}"
