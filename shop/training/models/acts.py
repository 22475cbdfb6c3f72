"""Acts that not everybody may do alone, and who may."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.urls import reverse


class Act(models.Model):
    """Something to be trusted with before it is done alone: change a cylinder, fit a stylus, approve a sheet.

    slug: how duties and actions name it. why: why not everybody does it alone; steps, goes_wrong: its card, a line
    each; sheet: slug of the hazard sheet that goes with it. months: how long it is given for where nothing else is
    said, None for no end. is_built_in: actions of this program ask for it, so it can be reworded but not stopped.
    """

    slug = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    why = models.CharField("why not everybody does it alone", max_length=500, blank=True)
    steps = models.TextField("how it is done", max_length=3000, blank=True)
    goes_wrong = models.TextField("what goes wrong", max_length=2000, blank=True)
    sheet = models.SlugField("hazard sheet", max_length=40, blank=True)
    months = models.PositiveSmallIntegerField("given for, months", null=True, blank=True, default=24)
    is_built_in = models.BooleanField(default=False)
    is_active = models.BooleanField(default=True)
    order = models.PositiveSmallIntegerField(default=100)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["order", "name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(is_active=True) | Q(is_built_in=False), name="training_built_in_acts_stay"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("training:act", args=[self.slug])


class Authority(models.Model):
    """That a person may do an act alone, from a day to a day (both counted), None for no end. Only ever added.

    by: who gave it; sign_off: the sign-off it came with, None where the owner gave it; note: why.
    """

    act = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="authorities")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="authorities")
    starts_on = models.DateField("from")
    until = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=300)
    sign_off = models.ForeignKey(
        "training.SignOff", on_delete=models.PROTECT, null=True, blank=True, related_name="authorities"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]
        verbose_name_plural = "authorities"
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=F("starts_on")), name="training_authority_runs_forward"
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["act", "person"], name="training_who_may")]

    def __str__(self) -> str:
        return f"{self.person} may {self.act}"


class AuthorityWithdrawn(models.Model):
    """That an authority ended before its day, from a day on, and why."""

    authority = models.OneToOneField(Authority, on_delete=models.PROTECT, related_name="withdrawn")
    from_day = models.DateField("from")
    why = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.authority}, withdrawn: {self.why}"
