"""What was learned, shown and signed. None of it is ever changed or removed."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from shop.training.models.programmes import Question, Step


class How(models.TextChoices):
    """How whoever signed proved who they are."""

    PASSWORD = "password", "signed in again"
    CODE = "code", "personal code"


class SignOff(models.Model):
    """One time that a step was watched, done, shown or talked over, signed by somebody trusted to.

    edition: the step's then; sheet_version: the version of its hazard sheet in force then, None where there was none.
    """

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="sign_offs")
    edition = models.PositiveSmallIntegerField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="sign_offs")
    on = models.DateField("when it was done")
    note = models.CharField(max_length=500, blank=True)
    sheet_version = models.ForeignKey(
        "safety.SheetVersion", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    how = models.CharField(max_length=8, choices=How)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["person", "step"], name="training_signed_for")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(by=F("person")), name="training_nobody_signs_for_themselves"),
        ]

    def __str__(self) -> str:
        return f"{self.step}: {self.person}, signed by {self.by}"


class SignOffWithdrawn(models.Model):
    """That a sign-off does not count any more, from now on, and why."""

    sign_off = models.OneToOneField(SignOff, on_delete=models.PROTECT, related_name="withdrawn")
    why = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.sign_off}, withdrawn: {self.why}"


class ReadAgain(models.Model):
    """That a sheet was read once more, in the version that was read before: the refresher of a READ step.

    The first reading of each version is kept with the sheet itself (safety.SheetRead).
    """

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="+")
    sheet_version = models.ForeignKey("safety.SheetVersion", on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.person} read {self.sheet_version} again"


class Answer(models.Model):
    """One answer to one question, as it stood then."""

    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="answers")
    edition = models.PositiveSmallIntegerField()
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    chosen = models.PositiveSmallIntegerField()
    right = models.BooleanField()
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["person", "question"], name="training_answered")]

    def __str__(self) -> str:
        return f"{self.question}: {'right' if self.right else 'wrong'}"


class SelfSigning(models.Model):
    """That somebody tried to sign for themselves through another account, which was refused. For the owner to see.

    by: the account that was to sign, whose password or code was given; person: the account it was for.
    """

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.step}: {self.by} for {self.person}, refused"


class TrainingRules(models.Model):
    """The shop's own rules, one row. keep_years: for how long a training record is kept after the last line in it of
    somebody who has left. The figure is no standard's."""

    keep_years = models.PositiveSmallIntegerField(default=10)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=Q(pk=1), name="training_rules_one_row")]

    def __str__(self) -> str:
        return "The shop's rules for training"
