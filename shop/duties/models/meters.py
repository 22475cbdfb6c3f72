"""Running counts that care may fall due by."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop import clock
from shop.calc.due import days_open


class MeterUnit(models.TextChoices):
    """What a meter counts, and the whole-number unit it is kept in."""

    MILLIGRAM = "mg", "grams"
    SECOND = "s", "hours"
    COUNT = "n", "times"
    DAY = "d", "days"

    @property
    def kept_per_shown(self) -> int:
        """How many of the unit it is kept in make one of the unit it is shown in."""
        return {MeterUnit.MILLIGRAM: 1000, MeterUnit.SECOND: 3600, MeterUnit.COUNT: 1, MeterUnit.DAY: 1}[self]

    @property
    def sign(self) -> str:
        """The sign of the unit it is shown in."""
        return {MeterUnit.MILLIGRAM: "g", MeterUnit.SECOND: "h", MeterUnit.COUNT: "", MeterUnit.DAY: "days"}[self]


class Meter(models.Model):
    """A running count that care may fall due by. The limits are the shop's own.

    value: since the last reset, in `unit`; total: all that ever came about, which no reset lessens. reset_word: what
    resets it, "" for one that runs on. care_at, hold_at: the values from which it is a concern of that grade.

    follows: what a meter of days goes by ("the oldest open container"), "" for one that is stepped; runs_since: since
    when that lasts, None while there is none of it. Such a meter has no steps: it stands at the days since then.
    """

    key = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=60)
    unit = models.CharField(max_length=4, choices=MeterUnit)
    value = models.BigIntegerField(default=0)
    total = models.BigIntegerField(default=0)
    reset_at = models.DateTimeField(null=True, blank=True)
    reset_word = models.CharField("what resets it", max_length=60, blank=True)
    what_to_do = models.CharField(max_length=300, blank=True)
    caution = models.CharField(max_length=300, blank=True)
    source = models.CharField("where the caution comes from", max_length=200, blank=True)
    follows = models.CharField("what it goes by", max_length=60, blank=True)
    runs_since = models.DateTimeField(null=True, blank=True)
    care_at = models.PositiveBigIntegerField(null=True, blank=True)
    hold_at = models.PositiveBigIntegerField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(value__gte=0), name="duties_meter_not_below_zero"),
            models.CheckConstraint(
                condition=Q(care_at__isnull=True) | Q(hold_at__isnull=True) | Q(care_at__lte=models.F("hold_at")),
                name="duties_care_before_hold",
            ),
            models.CheckConstraint(
                condition=Q(follows="", runs_since__isnull=True) | (~Q(follows="") & Q(unit="d", reset_word="")),
                name="duties_what_is_followed_is_days",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("duties:meter", args=[self.pk])

    @property
    def sign(self) -> str:
        return MeterUnit(self.unit).sign

    @property
    def stands_at(self) -> int:
        """What it shows: what was counted, or the days on the room's calendar since what it follows began."""
        if not self.follows:
            return self.value
        return max(0, days_open(clock.day_of(self.runs_since), clock.today())) if self.runs_since else 0

    @property
    def number_shown(self) -> str:
        return self._number(self.stands_at)

    @property
    def care_at_shown(self) -> str:
        """Read by name where somebody else has changed it meanwhile (press/changing.py); the next one likewise."""
        return "none" if self.care_at is None else self.shown(self.care_at)

    @property
    def hold_at_shown(self) -> str:
        return "none" if self.hold_at is None else self.shown(self.hold_at)

    def shown(self, amount: int) -> str:
        """An amount of it in the unit people read, with one decimal where it is not a bare count: "12.3 g"."""
        return f"{self._number(amount)} {self._sign_of(amount)}".rstrip()

    def plainly(self, amount: int) -> str:
        """An amount somebody chose, without zeros that say nothing: "250 h"."""
        return f"{amount / MeterUnit(self.unit).kept_per_shown:,.10g} {self._sign_of(amount)}".rstrip()

    def _sign_of(self, amount: int) -> str:
        return "day" if self.unit == MeterUnit.DAY and amount == 1 else self.sign

    @property
    def limit_words(self) -> str:
        """The graver of the shop's own limits: "the shop's limit 12 g"; "" without any."""
        limit = self.hold_at if self.hold_at is not None else self.care_at
        return f"the shop's limit {self.plainly(limit)}" if limit is not None else ""

    def _number(self, amount: int, plus: str = "") -> str:
        unit = MeterUnit(self.unit)
        if unit in (MeterUnit.COUNT, MeterUnit.DAY):
            return f"{amount:{plus},}"
        decimals = 2 if unit is MeterUnit.MILLIGRAM and abs(amount) < 1000 else 1
        return f"{amount / unit.kept_per_shown:{plus},.{decimals}f}"

    def change_shown(self, amount: int) -> str:
        """An amount with its sign: "+0.54 g"."""
        return f"{self._number(amount, '+')} {self.sign}".rstrip().replace("-", "\u2212")


class Tick(models.Model):
    """One step of a meter, or its reset; only ever added.

    value: the meter's value after it; came: what came about or was taken back at `at`, also where a reset since left
    nothing of it to count (`amount` is then 0). What came after some moment is the sum of it. undoes: the reset that
    this one took back.
    """

    meter = models.ForeignKey(Meter, on_delete=models.PROTECT, related_name="ticks")
    amount = models.BigIntegerField()
    came = models.BigIntegerField(default=0)
    is_reset = models.BooleanField(default=False)
    value = models.BigIntegerField()
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(value__gte=0), name="duties_tick_not_below_zero"),
            models.CheckConstraint(condition=Q(is_reset=False) | Q(value=0), name="duties_reset_is_to_zero"),
        ]
        indexes: ClassVar = [
            models.Index(fields=["meter", "-id"], name="duties_meter_ticks"),
            models.Index(fields=["at"], name="duties_ticks_at"),
        ]

    def __str__(self) -> str:
        return f"{self.meter_id} {self.amount:+d}"

    @property
    def change_shown(self) -> str:
        return self.meter.change_shown(self.amount)

    @property
    def value_shown(self) -> str:
        return self.meter.shown(self.value)
