from django.conf import settings
from django.db import models


class Press(models.Model):
    """One press of one form: its one-time token, and what came of it."""

    token = models.UUIDField(primary_key=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    act = models.CharField(max_length=120)
    digest = models.CharField(max_length=64)
    at = models.DateTimeField(db_index=True)
    result_model = models.CharField(max_length=80, blank=True)
    result_pk = models.CharField(max_length=40, blank=True)

    def __str__(self) -> str:
        return f"{self.act} {self.token}"
