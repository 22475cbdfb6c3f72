from typing import ClassVar

from django.db import models


class JobRun(models.Model):
    """One run of one recurring job, for one period: the row that makes it run once, however many clocks tick."""

    job = models.CharField(max_length=60)
    period = models.CharField(max_length=40)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    outcome = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["job", "period"], name="jobs_once_a_period")]

    def __str__(self) -> str:
        return f"{self.job} {self.period}"
