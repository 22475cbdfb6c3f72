from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.concern import Grade
from shop.room.models import Reading, ReadingKind


class Verdict(models.TextChoices):
    CLEAR = "clear", "Clear to cut"
    CARE = "care", "Cut with care"
    HOLD = "hold", "Hold"


class AnswerKind(models.TextChoices):
    YES_NO = "yes_no", "Yes or no"
    READING = "reading", "A reading"


class Question(models.Model):
    """One line of the room's own morning list."""

    order = models.PositiveIntegerField(default=0)
    place = models.CharField("where", max_length=60, blank=True)
    text = models.CharField(max_length=160)
    why = models.CharField(max_length=300, blank=True)
    kind = models.CharField(max_length=8, choices=AnswerKind, default=AnswerKind.YES_NO)
    reading = models.CharField(max_length=16, choices=ReadingKind, blank=True)
    grade_if_no = models.PositiveSmallIntegerField(
        choices=[(Grade.NOTE, "note"), (Grade.CARE, "care"), (Grade.HOLD, "hold")], default=Grade.CARE
    )
    what_to_do = models.CharField("what to do if not", max_length=300, blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["order", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=(Q(kind="reading") & ~Q(reading="")) | Q(kind="yes_no", reading=""),
                name="morning_reading_named",
            )
        ]

    def __str__(self) -> str:
        return self.text


class Check(models.Model):
    """A morning check as it was given; only ever added. A correction is a new one that names the old.

    verdict, concerns and plan are those of the moment it was signed: concerns as Concern.stored(), plan as the day's
    bookings were held against blanks, stylus, gas and chip.
    """

    day = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=6, choices=Verdict)
    concerns = models.JSONField(default=list)
    plan = models.JSONField(default=list)
    note = models.CharField(max_length=500, blank=True)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    class Meta:
        indexes: ClassVar = [models.Index(fields=["-day", "-id"], name="morning_check_order")]

    def __str__(self) -> str:
        return f"check of {self.day}"

    def get_absolute_url(self) -> str:
        return reverse("morning:check", args=[self.pk])


class Answer(models.Model):
    """One answer of a check, with the question as it was worded then; only ever added."""

    # the check's own name would clash with Django's Model.check
    of = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="answers")
    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="+")
    text = models.CharField(max_length=160)
    yes = models.BooleanField(null=True)
    reading = models.OneToOneField(Reading, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["of", "question"], name="morning_answered_once"),
            models.CheckConstraint(
                condition=Q(yes__isnull=False, reading__isnull=True) | Q(yes__isnull=True),
                name="morning_answer_is_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class Overruling(models.Model):
    """An engineer's word that the day goes on in spite of a verdict, and why; only ever added."""

    of = models.OneToOneField(Check, on_delete=models.PROTECT, related_name="overruling")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)

    def __str__(self) -> str:
        return self.reason
