"""Coming cutting jobs and the sides they need."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.finding import Folded
from shop.stock.models import BlankSize


class DiscSize(models.IntegerChoices):
    """Record sizes in inches; the groove's limits for each are in shop.calc.groove."""

    TWELVE = 12, "12 inch"
    TEN = 10, "10 inch"
    SEVEN = 7, "7 inch"


class Speed(models.TextChoices):
    """Turns a minute, by name; the exact figures are in shop.calc.groove."""

    LP = "33", "33⅓"
    SINGLE = "45", "45"
    OLD = "78", "78.26"
    HALF = "16", "16⅔"


class Booking(models.Model):
    """A coming cutting job."""

    code = models.CharField(max_length=30, unique=True)
    title = models.CharField(max_length=120)
    customer = models.CharField("for whom", max_length=120, blank=True)
    cut_on = models.DateField()
    note = models.CharField(max_length=500, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["cut_on", "code"]
        indexes: ClassVar = [
            models.Index(fields=["cut_on"], name="cutting_booking_day"),
            models.Index(Folded("code"), name="cutting_booking_code"),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(finished_at__isnull=True) | Q(cancelled_at__isnull=True),
                name="cutting_finished_or_cancelled",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("cutting:booking", args=[self.pk])

    @property
    def is_open(self) -> bool:
        return self.finished_at is None and self.cancelled_at is None


class BookingSide(models.Model):
    """A side that a booking needs cut.

    width_um, land_um: the groove at rest, and what is kept between two of them for the swing of the music. Where they
    start, 56 and 40 (265 lines an inch), is common practice, no source. play_s: of the whole side, pauses too.
    level_note: where it is loudest, in words. titles: in their order, {"name": "", "play_s": seconds}, none where
    nobody has said; they are always read with their side and never looked for, and so are no table of their own.
    """

    booking = models.ForeignKey(Booking, on_delete=models.CASCADE, related_name="wanted")
    label = models.CharField("side", max_length=4)
    disc_in = models.PositiveSmallIntegerField("record size", choices=DiscSize, default=DiscSize.TWELVE)
    blank_in = models.PositiveSmallIntegerField("blank size", choices=BlankSize, default=BlankSize.FOURTEEN)
    speed = models.CharField(max_length=2, choices=Speed, default=Speed.LP)
    play_s = models.PositiveIntegerField("length")
    width_um = models.FloatField("groove width", default=56.0)
    land_um = models.FloatField("land between grooves", default=40.0)
    level_note = models.CharField("loudest passage", max_length=200, blank=True)
    titles = models.JSONField(default=list, blank=True)

    class Meta:
        ordering: ClassVar = ["booking", "label"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["booking", "label"], name="cutting_side_label_once"),
            models.CheckConstraint(condition=Q(play_s__gt=0), name="cutting_side_has_length"),
        ]

    def __str__(self) -> str:
        return f"{self.booking.code} {self.label}"
