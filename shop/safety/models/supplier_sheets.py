"""Suppliers' safety data sheets, kept as they were received."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.urls import reverse

from shop.safety.models.substances import Substance
from shop.stock.models import Supplier


class Signal(models.TextChoices):
    """Signal words of the GHS."""

    DANGER = "Danger", "Danger"
    WARNING = "Warning", "Warning"


class SupplierSheet(models.Model):
    """One sheet as it came: never changed, never removed. The one in force is that of the latest revision.

    file: its random name in the data folder; called: as it was called where it came from; digest: SHA-256 of its
    bytes; first_pages: the page each of the 16 sections begins on, by its number, as far as they were found.
    says_...: what section 2 says, copied by whoever took it in; says_signal "" for a sheet that gives none.
    """

    substance = models.ForeignKey(Substance, on_delete=models.PROTECT, related_name="supplier_sheets")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    supplier_name = models.CharField("supplier", max_length=80)
    supplier_phone = models.CharField("its emergency number", max_length=40, blank=True)
    revised_on = models.DateField("date of revision")
    language = models.CharField(max_length=12, default="en")
    file = models.CharField(max_length=32, unique=True)
    called = models.CharField(max_length=120)
    size = models.PositiveIntegerField()
    pages = models.PositiveSmallIntegerField()
    digest = models.CharField(max_length=64)
    first_pages = models.JSONField(default=dict, blank=True)
    says_signal = models.CharField("signal word", max_length=8, choices=Signal, blank=True)
    says_pictograms = models.JSONField("pictograms", default=list, blank=True)
    says_h = models.JSONField("H statements", default=list, blank=True)
    says_p = models.JSONField("P statements", default=list, blank=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["substance", "-revised_on", "-id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["substance", "digest"], name="safety_same_sheet_once"),
        ]

    def __str__(self) -> str:
        return f"{self.supplier_name}, {self.revised_on}"

    def get_absolute_url(self) -> str:
        return reverse("safety:supplier-sheet", args=[self.pk])


class SupplierSheetWithdrawn(models.Model):
    """That a sheet was taken in by mistake (another substance's, another product's). The sheet itself stays."""

    sheet = models.OneToOneField(SupplierSheet, on_delete=models.PROTECT, related_name="withdrawn")
    why = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.sheet} withdrawn: {self.why}"
