"""The record that care was done, put off or not needed. Only ever added to."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.duties.models.duties import Duty, DutyStep, StepQuantity


class EntryKind(models.TextChoices):
    DONE = "done", "Done"
    PUT_OFF = "put_off", "Put off"
    NOT_NEEDED = "not_needed", "Not needed"
    STRUCK = "struck", "Struck out"


#: What settles a duty until the next time.
SETTLES = (EntryKind.DONE, EntryKind.NOT_NEEDED)


class Entry(models.Model):
    """What was done about a duty; a later one may take its place and names it.

    at: when it was done, put off or found not needed. due_on: the day it was due then. under: under whose eye it was
    done, if so. signed_as, under_as: the names they had. until: the day it was put off to. note: the reason, or a
    remark.
    """

    duty = models.ForeignKey(Duty, on_delete=models.PROTECT, related_name="entries")
    kind = models.CharField(max_length=12, choices=EntryKind)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signed_as = models.CharField(max_length=80)
    under = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    under_as = models.CharField(max_length=80, blank=True)
    due_on = models.DateField(null=True, blank=True)
    until = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    class Meta:
        verbose_name_plural = "entries"
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(kind=EntryKind.PUT_OFF, until__isnull=False)
                | (~Q(kind=EntryKind.PUT_OFF) & Q(until__isnull=True)),
                name="duties_put_off_until",
            ),
            models.CheckConstraint(
                condition=~Q(kind=EntryKind.STRUCK) | Q(corrects__isnull=False), name="duties_struck_names_another"
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["duty", "-at", "-id"], name="duties_entries_of"),
            models.Index(fields=["-at", "-id"], name="duties_entries_at"),
        ]

    def __str__(self) -> str:
        return f"{self.duty}: {self.get_kind_display().lower()}"

    def get_absolute_url(self) -> str:
        return reverse("duties:entry", args=[self.pk])

    @property
    def left_out(self) -> str:
        """How much of it was not done: "2 of 3 steps left out", or "". Fetch its steps along for lists."""
        steps = list(self.steps.all()) if self.kind == EntryKind.DONE else []
        undone = sum(not step.is_done for step in steps)
        return f"{undone} of {len(steps)} step{'s' * (len(steps) > 1)} left out" if undone else ""

    @property
    def what(self) -> str:
        """What was recorded, with how much of it was not done: "Done, 2 of 3 steps left out"."""
        said = EntryKind(self.kind).label
        return f"{said}, {self.left_out}" if self.left_out else said

    @property
    def is_corrected(self) -> bool:
        """Whether another took its place; asked for cheaply where `corrected_by` was selected along."""
        return hasattr(self, "corrected_by")


class EntryStep(models.Model):
    """One step of an entry, as it was worded and limited then. reading: in the stored unit of its quantity."""

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="steps")
    step = models.ForeignKey(DutyStep, on_delete=models.PROTECT, related_name="+")
    text = models.CharField(max_length=200)
    is_done = models.BooleanField()
    reads = models.CharField(max_length=60, blank=True)
    quantity = models.CharField(max_length=12, choices=StepQuantity, default=StepQuantity.PLAIN)
    unit = models.CharField(max_length=12, blank=True)
    reading = models.FloatField(null=True, blank=True)
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["entry", "step"], name="duties_step_once_an_entry")]

    def __str__(self) -> str:
        return self.text

    @property
    def is_amiss(self) -> bool:
        """Whether its reading lies outside the shop's own limits."""
        if self.reading is None:
            return False
        return (self.low is not None and self.reading < self.low) or (
            self.high is not None and self.reading > self.high
        )


class Photo(models.Model):
    """A photograph taken with an entry: made anew by us, kept under a name that says nothing (see duties/photos.py)."""

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="photos")
    step = models.ForeignKey(DutyStep, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=40, unique=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("duties:photo", args=[self.name])


class Touched(models.Model):
    """What an entry really did elsewhere, or the undoing of that.

    ref: the number of the record it made there (the tick of a reset, a movement of stock). amount: how much, where it
    is measured. undoes: what this one took back.
    """

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="touched")
    kind = models.SlugField(max_length=30)
    target = models.BigIntegerField()
    target_name = models.CharField(max_length=80)
    amount = models.PositiveBigIntegerField(null=True, blank=True)
    ref = models.BigIntegerField()
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by")

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [models.Index(fields=["kind", "ref"], name="duties_touched_ref")]

    def __str__(self) -> str:
        return f"{self.kind} {self.target_name}"
