"""The shop's own limits and figures for cutting, a row each."""

from typing import ClassVar

from django.db import models
from django.db.models import Q


class CuttingLimits(models.Model):
    """The one row of the shop's own limits for cutting: none of them is a standard.

    care_below, hold_below: chances of finishing the day's sides under which the fitted stylus is a concern of that
    grade; days_ahead: how far ahead bookings are held against the blanks. noise_db: the level of a silent groove above
    which an edge counts as noisy, None where nobody has said; plating_days: days after its cut by which a master should
    have gone to plating, None where that is not kept here; where it starts (3) is our own, no source.
    """

    care_below = models.FloatField("care below this chance", default=0.9)
    hold_below = models.FloatField("hold below this chance", default=0.6)
    days_ahead = models.PositiveSmallIntegerField("days ahead", default=14)
    noise_db = models.FloatField("noise limit", null=True, blank=True)
    plating_days = models.PositiveSmallIntegerField("days to plating", null=True, blank=True, default=3)
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

    gas_side: nitrogen for one side; care_hour: wipes, solvent, oil and filters for an hour of cutting. change_stylus:
    the work of changing one, besides the stylus itself; spoiled_side: what a side spoiled by its stylus costs besides
    the blank and the stylus: time, and what it sets back.
    """

    gas_side = models.DecimalField("gas for a side", max_digits=10, decimal_places=4, null=True, blank=True)
    care_hour = models.DecimalField(
        "care for an hour of cutting", max_digits=10, decimal_places=4, null=True, blank=True
    )
    change_stylus = models.DecimalField(
        "work of changing a stylus", max_digits=10, decimal_places=4, null=True, blank=True
    )
    spoiled_side = models.DecimalField(
        "a spoiled side besides blank and stylus", max_digits=10, decimal_places=4, null=True, blank=True
    )
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "cost figures"
        constraints: ClassVar = [models.CheckConstraint(condition=Q(id=1), name="cutting_one_row_of_costs")]

    def __str__(self) -> str:
        return "cost figures"


class PlanFigures(models.Model):
    """The one row of how this room lays its sides out, and what it reckons with for a day.

    lead_in_turns, lead_in_pitch_mm, band_mm, lead_out_pitch_mm, run_out_mm: as shop.calc.layout.Spirals has them. The
    pitches start at those of IEC 60098:1987, the others are our own, no source. pause_s: between two titles where
    nobody has said; between_s: from one side's end to the next one's start; confidence: that blanks are to be
    enough for all sides with. rejects_guess: the share of sides that the room itself expects to reject, None where it
    has not said (shop.calc.blanks says what it counts for).
    """

    lead_in_turns = models.FloatField("turns of lead-in", default=2.0)
    lead_in_pitch_mm = models.FloatField("pitch of the lead-in", default=1.2)
    band_mm = models.FloatField("width of a band between titles", default=0.8)
    pause_s = models.FloatField("pause between titles", default=2.0)
    lead_out_pitch_mm = models.FloatField("pitch of the lead-out", default=6.4)
    run_out_mm = models.FloatField("more room kept for the run-out", default=0.0)
    between_s = models.PositiveIntegerField("time between two sides", default=1200)
    confidence = models.FloatField("confidence that the blanks are enough", default=0.95)
    rejects_guess = models.FloatField("share of sides rejected, as expected", null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name_plural = "plan figures"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(id=1), name="cutting_one_row_of_plan_figures"),
            models.CheckConstraint(
                condition=Q(confidence__gt=0, confidence__lt=1), name="cutting_confidence_is_a_chance"
            ),
            models.CheckConstraint(
                condition=Q(rejects_guess__isnull=True) | Q(rejects_guess__gt=0, rejects_guess__lt=1),
                name="cutting_rejects_guess_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        return "plan figures"
