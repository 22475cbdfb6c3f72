"""What somebody new goes through: programmes, their steps, and questions."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.urls import reverse

from shop.training.models.acts import Act


class StepKind(models.TextChoices):
    READ = "read", "Read a sheet"
    WATCH = "watch", "Watch it done"
    DO = "do", "Do it under somebody's eye"
    SHOW = "show", "Show it alone"
    ANSWER = "answer", "Answer questions"
    TALK = "talk", "Talk it over"


#: Kinds that somebody else signs; the others end by themselves (a sheet read, questions answered).
SIGNED = frozenset({StepKind.WATCH, StepKind.DO, StepKind.SHOW, StepKind.TALK})


class Programme(models.Model):
    name = models.CharField(max_length=80)
    why = models.CharField("what it is for", max_length=500, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [models.UniqueConstraint(Lower("name"), name="training_programme_name_once")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("training:programme", args=[self.pk])


class Step(models.Model):
    """One part of a programme. Never removed: one that is stopped asks for nothing more, and its records stay.

    order: its place in the programme; needs: the steps that come first, a graph without loops. times: how often a DO
    step is done before it counts; sheet: slug of the hazard sheet of a READ step, and of the card of any other; act:
    the act that this step is part of: who is to be given it has done all of its steps and what they need. day: by which
    day of the programme it is expected, counted from 1; refresh_months: after how long it comes round again, None for
    never. edition: counted up when what is asked changes in substance; records name the edition they were made under,
    and those of an older one ask for a refresher where `changed_refreshes` says so.
    """

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="steps")
    order = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=StepKind)
    title = models.CharField(max_length=100)
    why = models.CharField("why it matters", max_length=500, blank=True)
    how = models.TextField("how it is done", max_length=3000, blank=True)
    goes_wrong = models.TextField("what goes wrong", max_length=1000, blank=True)
    source = models.CharField("where this is from", max_length=200, blank=True)
    times = models.PositiveSmallIntegerField("how many times", default=1)
    sheet = models.SlugField("hazard sheet", max_length=40, blank=True)
    act = models.ForeignKey(Act, on_delete=models.PROTECT, null=True, blank=True, related_name="needed_steps")
    needs = models.ManyToManyField("self", symmetrical=False, blank=True, related_name="needed_by")
    day = models.PositiveSmallIntegerField("expected by day", null=True, blank=True)
    refresh_months = models.PositiveSmallIntegerField("again after months", null=True, blank=True)
    changed_refreshes = models.BooleanField("a change of substance asks again", default=True)
    edition = models.PositiveSmallIntegerField(default=1)
    edition_note = models.CharField("what changed", max_length=300, blank=True)
    edition_at = models.DateTimeField(null=True, blank=True)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["programme", "order", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(StepKind)), name="training_step_kind_known"),
            models.CheckConstraint(condition=Q(times__gte=1), name="training_step_at_least_once"),
            models.CheckConstraint(condition=Q(kind="do") | Q(times=1), name="training_only_doing_is_counted"),
        ]

    def __str__(self) -> str:
        return self.title

    def get_absolute_url(self) -> str:
        return reverse("training:step", args=[self.pk])


class Question(models.Model):
    """A question of an ANSWER step: choices, the index of the right one, and the reason told after each answer."""

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="questions")
    text = models.CharField(max_length=300)
    choices = models.JSONField()
    right = models.PositiveSmallIntegerField()
    reason = models.CharField(max_length=500)
    is_active = models.BooleanField(default=True)
    edition = models.PositiveSmallIntegerField(default=1)
    order = models.PositiveSmallIntegerField(default=100)

    class Meta:
        ordering: ClassVar = ["step", "order", "id"]

    def __str__(self) -> str:
        return self.text


class StepEdition(models.Model):
    """A step as it was worded from a moment on, for what was signed under it. Only ever added: one for each change.

    Several may have one edition: what was reworded without a change of substance. act_name, needs: as they read then.
    by: who changed it, None for what came with the room.
    """

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="editions")
    edition = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=StepKind)
    title = models.CharField(max_length=100)
    why = models.CharField(max_length=500, blank=True)
    how = models.TextField(blank=True)
    goes_wrong = models.TextField(blank=True)
    source = models.CharField(max_length=200, blank=True)
    times = models.PositiveSmallIntegerField()
    sheet = models.SlugField(max_length=40, blank=True)
    act_name = models.CharField(max_length=80, blank=True)
    needs = models.JSONField(default=list)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["step", "id"]
        indexes: ClassVar = [models.Index(fields=["step", "edition", "at"], name="training_step_as_it_stood")]

    def __str__(self) -> str:
        return f"{self.title}, edition {self.edition}"


class QuestionEdition(models.Model):
    """A question as it was worded from a moment on, for what was answered then. Only ever added."""

    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="editions")
    edition = models.PositiveSmallIntegerField()
    text = models.CharField(max_length=300)
    choices = models.JSONField()
    right = models.PositiveSmallIntegerField()
    reason = models.CharField(max_length=500)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["question", "id"]
        indexes: ClassVar = [models.Index(fields=["question", "edition", "at"], name="training_asked_as_it_stood")]

    def __str__(self) -> str:
        return f"{self.text}, edition {self.edition}"


class ProgrammeChange(models.Model):
    """What was changed of a programme, in a sentence for those who are under way. Only ever added."""

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="changes")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, null=True, blank=True, related_name="changes")
    what = models.CharField("what changed", max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.programme}: {self.what}"


class Enrolment(models.Model):
    """That somebody goes through a programme. mentor: whom they turn to first. ended_at: broke off; records stay."""

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="enrolments")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="enrolments")
    mentor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    starts_on = models.DateField("first day")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_why = models.CharField(max_length=300, blank=True)
    seen_at = models.DateTimeField("changes of the programme seen", null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["-starts_on", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["programme", "person"], condition=Q(ended_at__isnull=True), name="training_under_way_once"
            ),
            models.CheckConstraint(
                condition=Q(mentor__isnull=True) | ~Q(mentor=F("person")), name="training_nobody_leads_themselves"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.programme}"

    def get_absolute_url(self) -> str:
        return reverse("training:enrolment", args=[self.pk])
