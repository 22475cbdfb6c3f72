"""What becomes of good masters: sent to plating, arrived, reported on; or kept back."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.cutting.models.sides import Side


class Parcel(models.Model):
    """Masters that went to plating together: to whom, and sent with whom."""

    sent_to = models.CharField("to whom", max_length=120)
    sent_with = models.CharField(max_length=120)
    sent_at = models.DateTimeField()
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True)
    arrived_at = models.DateTimeField(null=True, blank=True)
    arrived_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["-sent_at", "-id"]
        indexes: ClassVar = [models.Index(fields=["-sent_at", "-id"], name="cutting_parcel_order")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(arrived_at__isnull=True, arrived_by__isnull=True)
                | Q(arrived_at__gte=models.F("sent_at"), arrived_by__isnull=False),
                name="cutting_arrived_after_it_was_sent",
            )
        ]

    def __str__(self) -> str:
        return f"Parcel {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("cutting:parcel", args=[self.pk])


class Report(models.TextChoices):
    FINE = "fine", "Fine"
    NOISY = "noisy", "Noisy"
    REFUSED = "refused", "Refused"


#: A master that nothing has become of yet.
WAITING = Q(parcel__isnull=True, kept_at__isnull=True)


class Master(models.Model):
    """What becomes of a good side: it waits, went in a parcel, or was kept back for a reason.

    A side is one from when it is logged, where the shop keeps track of that. report: what the platers said of it;
    wrong: what was wrong with it, where anything was.
    """

    side = models.OneToOneField(Side, on_delete=models.PROTECT, related_name="master")
    parcel = models.ForeignKey(Parcel, on_delete=models.PROTECT, null=True, blank=True, related_name="masters")
    kept_at = models.DateTimeField(null=True, blank=True)
    kept_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    kept_why = models.CharField(max_length=300, blank=True)
    report = models.CharField(max_length=8, choices=Report, blank=True)
    reported_at = models.DateTimeField(null=True, blank=True)
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    wrong = models.CharField("what was wrong", max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        # Those that wait stay few beside the others.
        indexes: ClassVar = [models.Index(fields=["side"], condition=WAITING, name="cutting_masters_waiting")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(kept_at__isnull=True, kept_by__isnull=True, kept_why="")
                | (Q(parcel__isnull=True, kept_at__isnull=False, kept_by__isnull=False) & ~Q(kept_why="")),
                name="cutting_kept_back_for_a_reason",
            ),
            models.CheckConstraint(
                condition=Q(report="", reported_at__isnull=True, reported_by__isnull=True, wrong="")
                | (
                    Q(parcel__isnull=False, reported_at__isnull=False, reported_by__isnull=False)
                    & (Q(report="fine") | Q(report__in=["noisy", "refused"]) & ~Q(wrong=""))
                ),
                name="cutting_report_says_what_was_wrong",
            ),
        ]

    def __str__(self) -> str:
        return f"master of {self.side}"

    @property
    def is_refused(self) -> bool:
        """Whether the platers refused it: its side is to be cut again."""
        return self.report == Report.REFUSED

    def get_absolute_url(self) -> str:
        return self.side.get_absolute_url()


class EarlierReport(models.Model):
    """What was reported of a master before it was put right; only ever added."""

    master = models.ForeignKey(Master, on_delete=models.PROTECT, related_name="earlier_reports")
    report = models.CharField(max_length=8, choices=Report)
    wrong = models.CharField("what was wrong", max_length=300, blank=True)
    reported_at = models.DateTimeField()
    reported_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"earlier report on the {self.master}"
