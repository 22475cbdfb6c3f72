"""Care that falls due again and again: when, for whom, in which steps, and what it touches."""

from datetime import date, datetime, time, timedelta
from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.urls import reverse

from shop import clock
from shop.calc.due import Calendar, days_open, in_words, read_rule
from shop.concern import Grade
from shop.duties.models.meters import Meter
from shop.people.authority import act_words
from shop.people.models import Role


class CountsFrom(models.TextChoices):
    """From where to the next day is counted."""

    PLAN = "plan", "the plan: it runs on, whenever the last was done"
    ENTRY = "entry", "the day it was last done"


class LateGrade(models.IntegerChoices):
    """What a duty weighs once its grace has passed."""

    CARE = int(Grade.CARE), "Care: cut with care"
    HOLD = int(Grade.HOLD), "Hold: do it first"


#: Whom a duty may be for besides one person; nobody in particular is "".
FOR_ROLES = [(str(role), role.label) for role in (Role.ASSISTANT, Role.ENGINEER, Role.OWNER)]


class Duty(models.Model):
    """Care that falls due by its rule, by its meter, or by whichever comes first.

    rule: RFC 5545, by whole days from `starts_on` on, due from `at` by the clocks of the room; starts_on is None in
    starter content until the room begins. early_days: an entry so long before a day of the plan counts for it;
    late_days: grace after it. authority: the act that whoever does it must be trusted with; sheet: the hazard sheet
    that goes with it; both slugs that higher rooms know more about.

    The columns from `begun_at` on are kept by shop.duties.standing in the transaction that changes what they rest
    on, and by nothing else. begun_at: from when on it counts, None for starter content that has not begun;
    counted_from: its meter's total at its last entry, or then; resets_own_meter: whether doing it resets that meter,
    and so what it counts is what the meter shows; reached_at: when that reached `meter_amount`, or will (a meter that
    follows something tells it ahead); amiss: what the last
    entry read outside the shop's own limits, in the room's units, and its quantities; expected_..: the days between
    which the meter is expected to reach the amount, from so many days of use.
    """

    name = models.CharField(max_length=80)
    place = models.CharField("where in the room", max_length=60, blank=True)
    why = models.CharField("why it matters", max_length=500, blank=True)

    rule = models.CharField(max_length=300, blank=True)
    starts_on = models.DateField(null=True, blank=True)
    at = models.TimeField("due from", default=time(8))
    counts_from = models.CharField(max_length=8, choices=CountsFrom, default=CountsFrom.PLAN)
    meter = models.ForeignKey(Meter, on_delete=models.PROTECT, null=True, blank=True, related_name="duties")
    meter_amount = models.PositiveBigIntegerField(null=True, blank=True)
    early_days = models.PositiveSmallIntegerField("days of grace before", default=0)
    late_days = models.PositiveSmallIntegerField("days of grace after", default=0)

    for_role = models.CharField(max_length=12, choices=FOR_ROLES, blank=True)
    for_person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    authority = models.SlugField("act it needs an authority for", max_length=40, blank=True)
    sheet = models.SlugField("hazard sheet", max_length=40, blank=True)
    is_critical = models.BooleanField("safety-critical", default=False)
    late_grade = models.PositiveSmallIntegerField(choices=LateGrade, default=LateGrade.CARE)
    put_off_limit = models.PositiveSmallIntegerField("may be put off in a row", default=2)
    source = models.CharField("where this is from", max_length=200, blank=True)

    is_active = models.BooleanField(default=True)
    stopped_at = models.DateTimeField(null=True, blank=True)
    stopped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    stopped_why = models.CharField(max_length=300, blank=True)
    version = models.PositiveIntegerField(default=1)

    begun_at = models.DateTimeField(null=True, blank=True)
    last_entry = models.ForeignKey("duties.Entry", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    put_offs = models.PositiveSmallIntegerField(default=0)
    put_off_until = models.DateField(null=True, blank=True)
    resets_own_meter = models.BooleanField(default=False)
    counted_from = models.BigIntegerField(default=0)
    reached_at = models.DateTimeField(null=True, blank=True)
    zone = models.CharField(max_length=64, blank=True)
    due_on = models.DateField(null=True, blank=True)
    due_at = models.DateTimeField(null=True, blank=True)
    late_at = models.DateTimeField(null=True, blank=True)
    amiss = models.CharField(max_length=300, blank=True)
    amiss_quantities = models.JSONField(default=list, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    expected_low_on = models.DateField(null=True, blank=True)
    expected_high_on = models.DateField(null=True, blank=True)
    expected_from_days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]
        verbose_name_plural = "duties"
        constraints: ClassVar = [
            models.UniqueConstraint(Lower("name"), name="duties_duty_name_once"),
            models.CheckConstraint(
                condition=~Q(rule="") | Q(meter__isnull=False), name="duties_duty_falls_due_somehow"
            ),
            models.CheckConstraint(
                condition=Q(meter__isnull=True, meter_amount__isnull=True) | Q(meter__isnull=False, meter_amount__gt=0),
                name="duties_meter_with_amount",
            ),
            models.CheckConstraint(
                condition=Q(is_critical=True) | Q(late_grade=LateGrade.CARE), name="duties_only_critical_holds"
            ),
            models.CheckConstraint(
                condition=Q(for_role="") | Q(for_person__isnull=True), name="duties_for_role_or_person"
            ),
            models.CheckConstraint(
                condition=Q(due_at__isnull=True, late_at__isnull=True) | Q(due_at__lt=F("late_at")),
                name="duties_due_before_late",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["is_active", "due_at"], name="duties_due_at"),
            models.Index(fields=["is_active", "expected_on"], name="duties_expected_on"),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("duties:duty", args=[self.pk])

    @property
    def counts_from_entry(self) -> bool:
        return self.counts_from == CountsFrom.ENTRY

    def calendar(self, zone: str) -> Calendar | None:
        """Its calendar part in that zone; None where it has none, or has not begun."""
        if not self.rule or self.starts_on is None:
            return None
        return Calendar(
            rule=self.rule,
            start=self.starts_on,
            at=self.at,
            zone=zone,
            from_entry=self.counts_from_entry,
            early_days=self.early_days,
        )

    @property
    def rule_words(self) -> str:
        """How often by the calendar, in words: "every week on Monday"."""
        return in_words(read_rule(self.rule), from_entry=self.counts_from_entry) if self.rule else ""

    @property
    def meter_words(self) -> str:
        """How often by its meter: "at 100 h on “Hours cut”"."""
        if self.meter is None or self.meter_amount is None:
            return ""
        return f"at {self.meter.plainly(self.meter_amount)} on “{self.meter.name}”"

    @property
    def how_often(self) -> str:
        """Both, in one phrase."""
        both = [words for words in (self.rule_words, self.meter_words) if words]
        return ", or ".join(both) + (" if that comes first" if len(both) > 1 else "")

    @property
    def whose(self) -> str:
        """For whom it is, in words."""
        if self.for_person is not None:
            return self.for_person.name
        if self.for_role == Role.OWNER:
            return "the owner"
        return f"any {self.get_for_role_display().lower()}" if self.for_role else "whoever is there"

    @property
    def act_words(self) -> str:
        """The act it needs an authority for, in words: "change cylinder"."""
        return act_words(self.authority)

    @property
    def late_on(self) -> date | None:
        """The last day of its grace."""
        return self.due_on + timedelta(days=self.late_days) if self.due_on else None

    @property
    def counted(self) -> int:
        """What its meter counted since it was last done, in the meter's unit; 0 without one."""
        if self.meter is None or self.begun_at is None:
            return 0
        if self.meter.follows:
            since = self.follows_since
            return max(0, days_open(clock.day_of(since), clock.today())) if since else 0
        return self.meter.value if self.resets_own_meter else max(0, self.meter.total - self.counted_from)

    @property
    def follows_since(self) -> datetime | None:
        """From when on it counts the days of a meter that follows something: since that lasts, or since it was last
        done if that was later. None where there is nothing to count."""
        if self.meter is None or self.meter.runs_since is None:
            return None
        return max(self.meter.runs_since, self.last_entry.at) if self.last_entry else self.meter.runs_since

    def is_reached(self, now: datetime) -> bool:
        """Whether its meter has reached the amount."""
        return self.reached_at is not None and self.reached_at <= now

    @property
    def is_reached_now(self) -> bool:
        return self.is_reached(clock.now())

    @property
    def counted_words(self) -> str:
        """How far its meter has come: "4.2 g, due at 6 g"."""
        if self.meter is None or self.meter_amount is None:
            return ""
        return f"{self.meter.shown(self.counted)}, {self.due_at_words}"

    @property
    def due_at_words(self) -> str:
        """The amount it falls due at: "due at 6 g". A meter's own limit is another, and is named beside it."""
        return f"due at {self.meter.plainly(self.meter_amount)}" if self.meter and self.meter_amount else ""

    @property
    def counted_in_full(self) -> str:
        """The same, and the meter's own limit where it counts as the meter does: "4.2 g, due at 6 g; the shop's limit
        12 g"."""
        limit = self.meter.limit_words if self.meter is not None and self.resets_own_meter else ""
        return "; ".join(words for words in (self.counted_words, limit) if words)

    @property
    def counted_share(self) -> float | None:
        return min(1.0, self.counted / self.meter_amount) if self.meter_amount else None


class StepQuantity(models.TextChoices):
    """What a reading asked for in a step measures: a kind of shop.calc.units, or a plain number with its own unit."""

    PLAIN = "plain", "A plain number"
    PRESSURE = "pressure", "Pressure"
    SUCTION = "suction", "Suction"
    TEMPERATURE = "temperature", "Temperature"
    HUMIDITY = "humidity", "Humidity"
    CURRENT = "current", "Current"
    LENGTH = "length", "Length"
    LIQUID = "liquid", "Volume"
    MASS = "mass", "Mass"


class DutyStep(models.Model):
    """One step of a duty, in its order. Entries keep their own copy of its words.

    reads: what is read in it, "" for nothing; quantity and unit: of that reading (unit only of a plain number); low,
    high: the shop's own limits for it, in the stored unit. wants_photo: whether a photograph is asked for.
    """

    duty = models.ForeignKey(Duty, on_delete=models.CASCADE, related_name="steps")
    order = models.PositiveSmallIntegerField()
    text = models.CharField(max_length=200)
    reads = models.CharField(max_length=60, blank=True)
    quantity = models.CharField(max_length=12, choices=StepQuantity, default=StepQuantity.PLAIN)
    unit = models.CharField(max_length=12, blank=True)
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    wants_photo = models.BooleanField(default=False)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["order", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(low__isnull=True) | Q(high__isnull=True) | Q(low__lte=F("high")),
                name="duties_low_below_high",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class Touch(models.Model):
    """What doing a duty does elsewhere: an effect of a registered kind on a target of it, with an amount if measured.

    target_name: what the target was called when it was chosen; starter content names it by that alone.
    """

    duty = models.ForeignKey(Duty, on_delete=models.CASCADE, related_name="touches")
    kind = models.SlugField(max_length=30)
    target = models.BigIntegerField(null=True, blank=True)
    target_name = models.CharField(max_length=80)
    amount = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["duty", "kind", "target"], name="duties_touch_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.target_name}"
