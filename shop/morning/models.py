from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.concern import Grade
from shop.room.kinds import KINDS
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
    source = models.CharField("where this is from", max_length=200, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["order", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=(Q(kind="reading") & ~Q(reading="")) | Q(kind="yes_no", reading=""),
                name="morning_reading_named",
            ),
            models.UniqueConstraint(
                fields=["reading"], condition=Q(kind="reading", is_active=True), name="morning_reading_asked_once"
            ),
        ]

    def __str__(self) -> str:
        return self.text


class Check(models.Model):
    """A morning check as it was given; only ever added. A correction is a new one that names the old.

    verdict, concerns and plan are those of the moment it was signed: concerns as Concern.stored(), plan as the day's
    bookings were held against blanks, stylus, gas and chip (shop.morning.plan). signed_as and room_name are the names
    as they were then.
    """

    day = models.DateField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=6, choices=Verdict)
    concerns = models.JSONField(default=list)
    plan = models.JSONField(default=dict)
    signed_as = models.CharField(max_length=80)
    room_name = models.CharField(max_length=80)
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

    @property
    def is_corrected(self) -> bool:
        return hasattr(self, "corrected_by")

    @property
    def is_overruled(self) -> bool:
        return hasattr(self, "overruling")


class Answer(models.Model):
    """One answer of a check, with the question as it was worded then; only ever added.

    yes for a yes or no; reading for a reading; neither, and a note that says why, for a reading that was left out. A
    correction that leaves a reading as it was names the same reading.
    """

    # the check's own name would clash with Django's Model.check
    of = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="answers")
    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="+")
    place = models.CharField(max_length=60, blank=True)
    text = models.CharField(max_length=160)
    what_to_do = models.CharField(max_length=300, blank=True)
    grade_if_no = models.PositiveSmallIntegerField(default=Grade.CARE)
    yes = models.BooleanField(null=True)
    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["of", "question"], name="morning_answered_once"),
            models.CheckConstraint(
                condition=Q(yes__isnull=False, reading__isnull=True) | Q(yes__isnull=True),
                name="morning_answer_is_one_thing",
            ),
            models.CheckConstraint(
                condition=Q(yes__isnull=False) | Q(reading__isnull=False) | ~Q(note=""),
                name="morning_left_out_says_why",
            ),
        ]

    def __str__(self) -> str:
        return self.text

    @property
    def was_left_out(self) -> bool:
        return self.yes is None and self.reading_id is None

    @property
    def is_reason(self) -> bool:
        """Whether it is one of the check's concerns (answers.concerns_of_answers), which then holds its note too."""
        return self.yes is False or self.was_left_out

    @property
    def quantity_kind(self) -> str:
        """The kind of quantity (of shop.calc.units) of its reading."""
        return KINDS[ReadingKind(self.reading.kind)].quantity if self.reading else ""


class Overruling(models.Model):
    """An engineer's word that the day goes on in spite of a verdict, and why; only ever added."""

    of = models.OneToOneField(Check, on_delete=models.PROTECT, related_name="overruling")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signed_as = models.CharField(max_length=80)
    reason = models.CharField(max_length=300)

    def __str__(self) -> str:
        return self.reason


class PutAway(models.Model):
    """That somebody put away the list of what an empty room needs first; one row at most, whose key is 1."""

    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=Q(id=1), name="morning_put_away_once")]

    def __str__(self) -> str:
        return f"first things put away by {self.by}"
