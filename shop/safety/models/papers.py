"""Papers that take long enough to be made in the background."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.people.models import Paper


class Binder(models.Model):
    """A binder that was asked for: every hazard sheet in force, as one PDF.

    opens: by which name of the room its codes open ("http://cutting-room.local:8000"). done, of: how far it is, in
    sheets set; file: its name in the data folder, "" until it is made; fingerprint: of all that stands in it; why: it
    could not be made. working_since: somebody is at it; a time long past means that they were cut off.
    """

    paper = models.CharField(max_length=8, choices=Paper)
    opens = models.CharField(max_length=300)
    asked_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    working_since = models.DateTimeField(null=True, blank=True)
    done = models.PositiveSmallIntegerField(default=0)
    of = models.PositiveSmallIntegerField(default=0)
    made_at = models.DateTimeField(null=True, blank=True)
    file = models.CharField(max_length=40, blank=True)
    fingerprint = models.CharField(max_length=20, blank=True)
    pages = models.PositiveSmallIntegerField(default=0)
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(paper__in=list(Paper)), name="safety_binder_paper_known"),
            models.CheckConstraint(condition=~Q(file="") | Q(made_at=None), name="safety_binder_made_has_a_file"),
        ]

    def __str__(self) -> str:
        return f"Binder {self.pk}"

    @property
    def is_at_work(self) -> bool:
        return self.made_at is None and not self.why
