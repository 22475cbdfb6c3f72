import json
from typing import Any, ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q


class Press(models.Model):
    """One press of one form: its one-time token, and what came of it. by: None where it was done without a name."""

    token = models.UUIDField(primary_key=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    act = models.CharField(max_length=120)
    digest = models.CharField(max_length=64)
    at = models.DateTimeField(db_index=True)
    result_model = models.CharField(max_length=80, blank=True)
    result_pk = models.CharField(max_length=40, blank=True)

    def __str__(self) -> str:
        return f"{self.act} {self.token}"


class Line(models.Model):
    """One line of the record, see shop.press.record, which alone writes them. Never changed or removed.

    number: from 1, without gaps; by: who did it, None for the program itself or where nobody signed, and who: their
    name then; act: the action's name, "stock.take_stock"; kind, ref, thing: the row that it was done to or made, and
    its name then; said: JSON, what was given ("given") and what differed by it ("changed"); before: the digest of the
    line before; digest: this line's own, SHA-256 in hex.
    """

    number = models.BigIntegerField(primary_key=True)
    at = models.DateTimeField(db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    who = models.CharField(max_length=80, blank=True)
    act = models.CharField(max_length=120)
    kind = models.CharField(max_length=80, blank=True)
    ref = models.CharField(max_length=40, blank=True)
    thing = models.CharField(max_length=300, blank=True)
    said = models.TextField()
    before = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [models.CheckConstraint(condition=Q(number__gte=1), name="press_lines_from_one")]
        indexes: ClassVar = [
            models.Index(fields=["kind", "ref", "number"], name="press_lines_of_a_thing"),
            models.Index(fields=["act", "number"], name="press_lines_of_an_act"),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.act}"

    @property
    def given(self) -> dict[str, Any]:
        return dict(json.loads(self.said)["given"])

    @property
    def changed(self) -> dict[str, Any]:
        return dict(json.loads(self.said)["changed"])


class RecordHead(models.Model):
    """Where the record stands: its last line's number and digest. One row, which writers take in turn.

    fault: what the last look through the whole chain found wrong, "" for nothing; looked_at: the line it came to.
    """

    number = models.BigIntegerField()
    digest = models.CharField(max_length=64)
    fault = models.CharField(max_length=200, blank=True)
    looked_at = models.BigIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=Q(pk=1), name="press_record_one_head")]

    def __str__(self) -> str:
        return f"{self.number}: {self.digest}"
