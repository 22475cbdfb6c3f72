"""What happened, what nearly happened, and what came of it. Neither is ever changed or removed."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.duties.models import Duty
from shop.safety.models.hazard_sheets import HazardSheet
from shop.safety.models.places import Place
from shop.safety.models.substances import Substance


class IncidentKind(models.TextChoices):
    FIRE = "fire", "Fire or smouldering"
    GAS = "gas", "Gas"
    SPILL = "spill", "Spill or vapour"
    BURN = "burn", "Burn"
    CUT = "cut", "Cut, crush or knock"
    EYES = "eyes", "Eyes or skin"
    SHOCK = "shock", "Electric shock"
    OTHER = "other", "Something else"


class Incident(models.Model):
    """One report. by: None where it was given in unsigned; it is then kept nowhere who gave it.

    near_miss: nobody was hurt and nothing was damaged, this time. hurt: who was hurt, and how, as told.
    """

    kind = models.CharField("what sort of thing", max_length=8, choices=IncidentKind)
    near_miss = models.BooleanField("it only nearly happened", default=False)
    what = models.CharField("what happened", max_length=2000)
    hurt = models.CharField("was anybody hurt", max_length=500, blank=True)
    done = models.CharField("what was done at once", max_length=1000, blank=True)
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents")
    substance = models.ForeignKey(Substance, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents")
    at = models.DateTimeField("when")
    told_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        indexes: ClassVar = [models.Index(fields=["at"], name="safety_incident_when")]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(kind__in=list(IncidentKind)), name="safety_incident_kind_known"),
            models.CheckConstraint(condition=Q(near_miss=False) | Q(hurt=""), name="safety_near_miss_hurt_nobody"),
        ]

    def __str__(self) -> str:
        return f"{'Near miss' if self.near_miss else 'Incident'} {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("safety:incident", args=[self.pk])


class IncidentNote(models.Model):
    """What came of a report: a word, a duty that follows from it, a sheet that learned from it, its end.

    closes: nothing is left to do about it; a later note without it opens it again.
    """

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="notes")
    text = models.CharField(max_length=1000)
    duty = models.ForeignKey(Duty, on_delete=models.PROTECT, null=True, blank=True, related_name="incident_notes")
    sheet = models.ForeignKey(HazardSheet, on_delete=models.PROTECT, null=True, blank=True, related_name="lessons")
    closes = models.BooleanField(default=False)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.text
