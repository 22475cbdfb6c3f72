"""Lathes, and the styli in their heads: each stretch of one from a fresh edge to its end is a life."""

from decimal import Decimal
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.finding import Folded
from shop.stock.models import Lot, Supplier


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
    """A sort of cutting stylus, with the hours this shop expects of a fresh edge (the shop's own figure).

    tip_radius_um: None where nobody has said.
    """

    name = models.CharField(max_length=80, unique=True)
    expected_h = models.FloatField("hours expected of a fresh edge", default=10.0)
    sureness = models.CharField(max_length=6, choices=Sureness, default=Sureness.ROUGH)
    tip_radius_um = models.FloatField(null=True, blank=True)
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
    """One stylus, known by the mark on its box or shank.

    tip_radius_um, tip_angle_deg: of its tip, as its maker gives them or as measured; None where nobody has said, and
    its kind's radius is meant. before_s: what the edge it came with had cut before it was kept here, None where nobody
    knows. supplier, price: of one that came out of no stock lot; else the lot's are meant.
    """

    mark = models.CharField("mark on the box or shank", max_length=40, unique=True)
    kind = models.ForeignKey(StylusKind, on_delete=models.PROTECT, related_name="styli")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    received_on = models.DateField()
    tip_radius_um = models.FloatField("radius of the tip", null=True, blank=True)
    tip_angle_deg = models.FloatField("angle of the tip", null=True, blank=True)
    before_s = models.PositiveIntegerField("cut before it came", null=True, blank=True, default=0)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    price = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)
    retired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    retired_why = models.CharField(max_length=8, choices=EndReason, blank=True)
    note = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

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

    @property
    def radius_um(self) -> float | None:
        """Of its tip: its own, else its kind's; None where neither is known."""
        return self.kind.tip_radius_um if self.tip_radius_um is None else self.tip_radius_um

    @property
    def before_h(self) -> float | None:
        """Hours that the edge it came with had cut before it was kept here; None where nobody knows."""
        return None if self.before_s is None else self.before_s / 3600

    @property
    def came_from(self) -> Supplier | None:
        return self.lot.supplier if self.lot is not None else self.supplier

    @property
    def cost(self) -> Decimal | None:
        """What it cost when it came, in the room's currency; None where nobody has said."""
        return self.lot.unit_cost if self.lot is not None else self.price


def came_with_s(number: int, before_s: int | None) -> int | None:
    """What the edge of a stylus's life of that number had cut before it was kept here, by what its stylus says of the
    one it came with: the others were made since, and had cut nothing."""
    return before_s if number == 1 else 0


class Life(models.Model):
    """The stretch of a stylus from a fresh (or re-lapped) edge to its end.

    cut_s, length_mm, sides: sums over its sides that were not withdrawn, kept in the transaction that logs a side. What
    the edge had cut before it was kept here is its stylus's to say (before_s), and counts in its age besides.
    relapped: the time away that made the edge, None for the edge it came with. noise_*: what its noise levels say, kept
    whenever they change (shop.cutting.noise): whether the last is above the shop's limit, whether they jumped, and the
    seconds of cutting here at which one more may first lie above the limit, and is expected to.
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
    relapped = models.OneToOneField("Away", on_delete=models.PROTECT, null=True, blank=True, related_name="made")
    noise_over = models.BooleanField(default=False)
    noise_jumped = models.BooleanField(default=False)
    noise_soonest_s = models.PositiveIntegerField(null=True, blank=True)
    noise_expected_s = models.PositiveIntegerField(null=True, blank=True)

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
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=models.F("began_at")),
                name="cutting_life_ends_after_it_began",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stylus} life {self.number}"

    @property
    def cost(self) -> Decimal | None:
        """What this edge cost: of the first the stylus itself, of a re-lapped one the re-lapping."""
        return self.relapped.price if self.relapped is not None else self.stylus.cost

    @property
    def before_s(self) -> int | None:
        """What its edge had cut before it was kept here, of the one the stylus came with; None where nobody knows."""
        return came_with_s(self.number, self.stylus.before_s)

    @property
    def age_is_known(self) -> bool:
        return self.before_s is not None

    @property
    def age_s(self) -> int:
        """What its edge has cut, here and before; at least that, where its age is not known."""
        return (self.before_s or 0) + self.cut_s

    @property
    def hours(self) -> float:
        """`age_s` in hours."""
        return self.age_s / 3600

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
            models.CheckConstraint(
                condition=Q(off_at__isnull=True) | Q(off_at__gte=models.F("fitted_at")),
                name="cutting_off_after_it_was_fitted",
            ),
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


class CameBack(models.TextChoices):
    FRESH = "fresh", "With a fresh edge"
    AS_SENT = "as_sent", "As it went: nothing was done to it"
    NEVER = "never", "It will not come back"


class Away(models.Model):
    """A stylus's time away for re-lapping. Sending it ended `ended`, if it had an open life."""

    stylus = models.ForeignKey(Stylus, on_delete=models.PROTECT, related_name="times_away")
    ended = models.ForeignKey(Life, on_delete=models.PROTECT, null=True, blank=True, related_name="sent_away")
    sent_to = models.CharField("to whom", max_length=120)
    sent_at = models.DateTimeField()
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    back_due = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    back_at = models.DateTimeField(null=True, blank=True)
    back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    came_back = models.CharField(max_length=8, choices=CameBack, blank=True)
    price = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    back_note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["sent_at", "id"]
        verbose_name_plural = "times away"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["stylus"], condition=Q(back_at__isnull=True), name="cutting_away_once"),
            models.CheckConstraint(
                condition=Q(back_at__isnull=True, back_by__isnull=True, came_back="")
                | (Q(back_at__gte=models.F("sent_at"), back_by__isnull=False) & ~Q(came_back="")),
                name="cutting_back_after_it_was_sent",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stylus} away with {self.sent_to}"

    def get_absolute_url(self) -> str:
        return self.stylus.get_absolute_url()


class TipPhoto(models.Model):
    """A photograph of a tip: made anew by us, kept under a name that says nothing (see duties/photos.py).

    life: whose edge it shows, None for one taken before the stylus was first fitted, or fitted anew. cut_s: what that
    life had cut by then.
    """

    stylus = models.ForeignKey(Stylus, on_delete=models.PROTECT, related_name="photos")
    life = models.ForeignKey(Life, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    shows = models.CharField("what it shows", max_length=300, blank=True)
    cut_s = models.PositiveIntegerField("cut by then", default=0)
    name = models.CharField(max_length=40, unique=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    class Meta:
        ordering: ClassVar = ["at", "id"]

    def __str__(self) -> str:
        return f"photograph of {self.stylus}"

    @property
    def age_is_known(self) -> bool:
        return self.life is None or self.life.age_is_known

    @property
    def age_s(self) -> int:
        """What the edge had cut by then, as `Life.age_s`."""
        return self.cut_s + ((self.life.before_s or 0) if self.life is not None else 0)

    def get_absolute_url(self) -> str:
        return reverse("cutting:tip-photo", args=[self.name])


class Overruling(models.Model):
    """An engineer's word that a life goes on against the advice: the advice as it stood, and the reason; only ever
    added. It holds on the day it was given, for what the advice rested on then and no graver.

    covers: that, with what was overruled earlier that day, by kind of thing (queries.Matter): the grade, by whom, and
    the reason. None for one from before that was kept: it covers nothing.
    """

    life = models.ForeignKey(Life, on_delete=models.PROTECT, related_name="overrulings")
    at = models.DateTimeField()
    day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    cut_s = models.PositiveIntegerField("cut by then")
    advice = models.CharField("the advice as it stood", max_length=500)
    reason = models.CharField(max_length=300)
    covers = models.JSONField("what it covers", null=True)

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        constraints: ClassVar = [models.CheckConstraint(condition=~Q(reason=""), name="cutting_overruled_for_a_reason")]

    def __str__(self) -> str:
        return f"overruling of {self.life}"

    @property
    def age_is_known(self) -> bool:
        return self.life.age_is_known

    @property
    def age_s(self) -> int:
        """What the edge had cut by then, as `Life.age_s`."""
        return self.cut_s + (self.life.before_s or 0)

    def get_absolute_url(self) -> str:
        return self.life.stylus.get_absolute_url()
