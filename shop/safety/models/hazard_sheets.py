"""The room's own one-page sheets: drafts that may be changed, versions that may not, and who read which."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.urls import reverse

from shop.safety.models.substances import Substance


class Part(models.TextChoices):
    """The parts of a sheet, in the order they are read in; `if-...` come first where somebody is in a hurry."""

    CAN_HURT = "can-hurt", "What can hurt you"
    BEFORE = "before", "Before you start"
    WHILE = "while", "While you work"
    NEVER = "never", "Never"
    IF_FIRE = "if-fire", "If it burns"
    IF_SPILL = "if-spill", "If it spills or escapes"
    IF_BREATHED = "if-breathed", "If somebody breathed it"
    IF_SKIN = "if-skin", "If it is on the skin"
    IF_EYES = "if-eyes", "If it is in the eyes"
    IF_OTHER = "if-other", "If something else goes wrong"
    WEAR = "wear", "What to wear"
    APART = "apart", "Keep apart from"
    WASTE = "waste", "Waste"


class HazardSheet(models.Model):
    """A sheet on a substance, or on an act (moving a cylinder, clearing the line): its name, and its draft.

    draft: what is being written, by part: {"never": [{"text": ..., "source": ..., "from_memory": bool}, ...]}; empty
    once it was approved. draft_by: who last wrote on it, None for starter content; draft_note: what is new in it.
    A draft is in force for nobody.
    """

    slug = models.SlugField(max_length=40, unique=True)
    title = models.CharField(max_length=80)
    substance = models.ForeignKey(
        Substance, on_delete=models.PROTECT, null=True, blank=True, related_name="hazard_sheets"
    )
    order = models.PositiveSmallIntegerField(default=100)
    draft = models.JSONField(default=dict, blank=True)
    draft_note = models.CharField("what is new", max_length=300, blank=True)
    draft_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    draft_at = models.DateTimeField(null=True, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["order", "title"]
        constraints: ClassVar = [models.UniqueConstraint(Lower("title"), name="safety_hazard_sheet_title_once")]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("safety:hazard-sheet", args=[self.slug])


class SheetVersion(models.Model):
    """A sheet as it was approved: never changed. The latest is in force, unless it was withdrawn or has run out: then
    nothing is, for what it took the place of does not come back.

    title, parts: as approved; parts has the form of HazardSheet.draft. written_by: None where it was starter content,
    word for word. until: the last day of its approval, None where the shop sets none. only_author: it was approved by
    the one who wrote it; why_alone: and why.
    """

    sheet = models.ForeignKey(HazardSheet, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=80)
    parts = models.JSONField()
    note = models.CharField("what is new", max_length=300, blank=True)
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    until = models.DateField(null=True, blank=True)
    only_author = models.BooleanField(default=False)
    why_alone = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["sheet", "-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sheet", "number"], name="safety_version_number_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="safety_versions_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.title}, version {self.number}"


class SheetWithdrawn(models.Model):
    """That a version was taken out of force before another took its place, and why."""

    version = models.OneToOneField(SheetVersion, on_delete=models.PROTECT, related_name="withdrawn")
    why = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.version} withdrawn: {self.why}"


class SheetRead(models.Model):
    """That a person says to have read a version. A new version asks again."""

    version = models.ForeignKey(SheetVersion, on_delete=models.PROTECT, related_name="reads")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["version", "by"], name="safety_read_once")]

    def __str__(self) -> str:
        return f"{self.by} read {self.version}"


class SecondPerson(models.TextChoices):
    """Whether whoever wrote a sheet may approve it."""

    WHERE_THERE_IS_ONE = "where", "Somebody else approves it, where there is somebody who may"
    ALWAYS = "always", "Somebody else always approves it"
    NO = "no", "Whoever wrote it may approve it"


class SafetyRules(models.Model):
    """The shop's own rules, one row. None of the figures is a standard's.

    approval_months: how long an approval of a hazard sheet holds; sheet_years: after how long a supplier's sheet is
    asked for anew.
    """

    second_person = models.CharField(max_length=8, choices=SecondPerson, default=SecondPerson.WHERE_THERE_IS_ONE)
    approval_months = models.PositiveSmallIntegerField(default=24)
    sheet_years = models.PositiveSmallIntegerField(default=3)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=Q(pk=1), name="safety_rules_one_row")]

    def __str__(self) -> str:
        return "The shop's rules for sheets"
