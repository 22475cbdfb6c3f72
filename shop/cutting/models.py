from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.finding import Folded
from shop.stock.models import BlankSize, Lot, Movement


class CuttingLimits(models.Model):
    """The one row of the shop's own limits for cutting: none of them is a standard.

    care_below, hold_below: chances of finishing the day's sides under which the fitted stylus is a concern of that
    grade; days_ahead: how far ahead bookings are held against the blanks.
    """

    care_below = models.FloatField("care below this chance", default=0.9)
    hold_below = models.FloatField("hold below this chance", default=0.6)
    days_ahead = models.PositiveSmallIntegerField("days ahead", default=14)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "cutting limits"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(id=1), name="cutting_one_row_of_limits"),
            models.CheckConstraint(
                condition=Q(hold_below__gte=0, care_below__lte=1, hold_below__lte=models.F("care_below")),
                name="cutting_hold_below_care",
            ),
        ]

    def __str__(self) -> str:
        return "cutting limits"


class CostFigures(models.Model):
    """The one row of what the room itself says things cost, in its currency; None where nobody has said.

    gas_side: nitrogen for one side; care_hour: wipes, solvent, oil and filters for an hour of cutting.
    """

    gas_side = models.DecimalField("gas for a side", max_digits=10, decimal_places=4, null=True, blank=True)
    care_hour = models.DecimalField(
        "care for an hour of cutting", max_digits=10, decimal_places=4, null=True, blank=True
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "cost figures"
        constraints: ClassVar = [models.CheckConstraint(condition=Q(id=1), name="cutting_one_row_of_costs")]

    def __str__(self) -> str:
        return "cost figures"


class Lathe(models.Model):
    name = models.CharField(max_length=60, unique=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class EndReason(models.TextChoices):
    """Why a life ended. Only wear counts as an end for expected life; the others cut the observation short."""

    WORN = "worn", "Worn or noisy"
    CHIPPED = "chipped", "Chipped"
    KNOCKED = "knocked", "Knocked"
    LOST = "lost", "Lost"
    EARLY = "early", "Taken off early"


class Sureness(models.TextChoices):
    """How well the shop knows the hours it expects; the spread each stands for is in shop.calc.life."""

    ROUGH = "rough", "a rough guess"
    FAIR = "fair", "fairly sure"
    WELL = "well", "well known"


class StylusKind(models.Model):
    """A sort of cutting stylus, with the hours this shop expects of a fresh edge (the shop's own figure)."""

    name = models.CharField(max_length=80, unique=True)
    expected_h = models.FloatField("hours expected of a fresh edge", default=10.0)
    sureness = models.CharField(max_length=6, choices=Sureness, default=Sureness.ROUGH)
    tip_radius_um = models.FloatField(default=0.0)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(expected_h__gt=0), name="cutting_expects_some_hours")
        ]

    def __str__(self) -> str:
        return self.name


class Stylus(models.Model):
    mark = models.CharField("mark on the box or shank", max_length=40, unique=True)
    kind = models.ForeignKey(StylusKind, on_delete=models.PROTECT, related_name="styli")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    received_on = models.DateField()
    retired_at = models.DateTimeField(null=True, blank=True)
    retired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    retired_why = models.CharField(max_length=8, choices=EndReason, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["mark"]
        verbose_name_plural = "styli"
        indexes: ClassVar = [models.Index(Folded("mark"), name="cutting_stylus_mark")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(retired_at__isnull=True, retired_by__isnull=True, retired_why="")
                | (Q(retired_at__isnull=False, retired_by__isnull=False) & ~Q(retired_why="")),
                name="cutting_retired_by_and_why",
            )
        ]

    def __str__(self) -> str:
        return self.mark

    def get_absolute_url(self) -> str:
        return reverse("cutting:stylus", args=[self.pk])


class Life(models.Model):
    """The stretch of a stylus from a fresh (or re-lapped) edge to its end.

    cut_s, length_mm, sides: sums over its sides that were not withdrawn, kept in the transaction that logs a side.
    """

    stylus = models.ForeignKey(Stylus, on_delete=models.PROTECT, related_name="lives")
    number = models.PositiveSmallIntegerField(default=1)
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    end_reason = models.CharField(max_length=8, choices=EndReason, blank=True)
    end_note = models.CharField(max_length=300, blank=True)
    cut_s = models.PositiveIntegerField(default=0)
    length_mm = models.PositiveBigIntegerField(default=0)
    sides = models.PositiveIntegerField(default=0)

    class Meta:
        verbose_name_plural = "lives"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["stylus", "number"], name="cutting_life_number_once"),
            models.UniqueConstraint(
                fields=["stylus"], condition=Q(ended_at__isnull=True), name="cutting_one_open_life"
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True, end_reason="") | (Q(ended_at__isnull=False) & ~Q(end_reason="")),
                name="cutting_ended_life_has_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stylus} life {self.number}"

    @property
    def hours(self) -> float:
        return self.cut_s / 3600

    @property
    def metres(self) -> float:
        return self.length_mm / 1000


class Fitting(models.Model):
    """A life's time in one lathe's head."""

    life = models.ForeignKey(Life, on_delete=models.PROTECT, related_name="fittings")
    lathe = models.ForeignKey(Lathe, on_delete=models.PROTECT, related_name="fittings")
    fitted_at = models.DateTimeField()
    fitted_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    off_at = models.DateTimeField(null=True, blank=True)
    off_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["lathe"], condition=Q(off_at__isnull=True), name="cutting_one_in_a_head"),
            models.UniqueConstraint(fields=["life"], condition=Q(off_at__isnull=True), name="cutting_in_one_head"),
        ]

    def __str__(self) -> str:
        return f"{self.life} in {self.lathe}"


class EdgeLook(models.Model):
    """Somebody's word that a life's edge was looked over and is whole, and what was seen; only ever added."""

    life = models.ForeignKey(Life, on_delete=models.PROTECT, related_name="looks")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    seen = models.CharField("what was seen", max_length=300)

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(seen=""), name="cutting_look_says_what")]

    def __str__(self) -> str:
        return f"look at {self.life}"


class Blame(models.TextChoices):
    BLANK = "blank", "the blank"
    STYLUS = "stylus", "the stylus"
    EDGE = "edge", "the stylus, its edge chipped"
    OTHER = "other", "something else"


#: What speaks against the stylus. Once a side was rejected for it, the edge is in doubt until somebody looked it over.
AGAINST_STYLUS = (Blame.STYLUS, Blame.EDGE)


class RejectReason(models.Model):
    """Why a side was rejected: the shop's own list, with what it speaks against."""

    name = models.CharField(max_length=60, unique=True)
    blame = models.CharField(max_length=8, choices=Blame, default=Blame.OTHER)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


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
    start, 56 and 40 (265 lines an inch), is common practice, no source.
    """

    booking = models.ForeignKey(Booking, on_delete=models.CASCADE, related_name="wanted")
    label = models.CharField("side", max_length=4)
    disc_in = models.PositiveSmallIntegerField("record size", choices=DiscSize, default=DiscSize.TWELVE)
    blank_in = models.PositiveSmallIntegerField("blank size", choices=BlankSize, default=BlankSize.FOURTEEN)
    speed = models.CharField(max_length=2, choices=Speed, default=Speed.LP)
    play_s = models.PositiveIntegerField("length")
    width_um = models.FloatField("groove width", default=56.0)
    land_um = models.FloatField("land between grooves", default=40.0)

    class Meta:
        ordering: ClassVar = ["booking", "label"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["booking", "label"], name="cutting_side_label_once"),
            models.CheckConstraint(condition=Q(play_s__gt=0), name="cutting_side_has_length"),
        ]

    def __str__(self) -> str:
        return f"{self.booking.code} {self.label}"


class Outcome(models.TextChoices):
    GOOD = "good", "Good"
    REJECTED = "rejected", "Rejected"
    TEST = "test", "Test cut"


class Side(models.Model):
    """One side cut: the record of it; only ever added. A mistaken one is withdrawn by a record that names it."""

    wanted = models.ForeignKey(BookingSide, on_delete=models.PROTECT, null=True, blank=True, related_name="cuts")
    lathe = models.ForeignKey(Lathe, on_delete=models.PROTECT, related_name="+")
    life = models.ForeignKey(Life, on_delete=models.PROTECT, related_name="cut_sides")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField("end of the cut")
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    disc_in = models.PositiveSmallIntegerField("record size", choices=DiscSize)
    speed = models.CharField(max_length=2, choices=Speed)
    cut_s = models.PositiveIntegerField("length")
    pitch_um = models.FloatField()
    width_um = models.FloatField()
    inner_mm = models.FloatField("diameter of the last groove")
    length_mm = models.PositiveIntegerField("length of groove")
    chip_mg = models.PositiveIntegerField()
    outcome = models.CharField(max_length=8, choices=Outcome)
    reject_reason = models.ForeignKey(
        RejectReason, on_delete=models.PROTECT, null=True, blank=True, related_name="sides"
    )
    cut_text = models.CharField("text in the run-out", max_length=80, blank=True)
    overruled = models.CharField("why a rule was overruled", max_length=300, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(outcome="rejected", reject_reason__isnull=False)
                | (~Q(outcome="rejected") & Q(reject_reason__isnull=True)),
                name="cutting_reject_has_reason",
            ),
            models.CheckConstraint(condition=Q(cut_s__gt=0), name="cutting_cut_takes_time"),
        ]
        indexes: ClassVar = [
            models.Index(fields=["-at", "-id"], name="cutting_side_order"),
            models.Index(fields=["life", "-id"], name="cutting_life_sides"),
            models.Index(fields=["lot", "-at", "-id"], name="cutting_lot_sides"),
            # Those stay few beside the good ones.
            models.Index(fields=["lot", "reject_reason"], condition=Q(outcome="rejected"), name="cutting_lot_rejected"),
        ]

    def __str__(self) -> str:
        return f"Side {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("cutting:side", args=[self.pk])


class Withdrawal(models.Model):
    """The record that a side was logged by mistake: its blank went back, its hours, chip and metres were taken off."""

    side = models.OneToOneField(Side, on_delete=models.PROTECT, related_name="withdrawal")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)
    movement = models.OneToOneField(Movement, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"withdrawal of side {self.side_id}"
