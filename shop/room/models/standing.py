"""Standing tests: two readings of a gauge between which nothing was drawn."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.room.models.cylinders import Cylinder
from shop.room.models.readings import Reading


class StandingTest(models.Model):
    """The gauge read before and after a time in which nothing ran, each with the temperature beside the cylinder.

    last, last_c: None while it runs. dropped_at: given up, so that it says nothing; why.
    """

    cylinder = models.ForeignKey(Cylinder, on_delete=models.PROTECT, related_name="standing_tests")
    first = models.OneToOneField(Reading, on_delete=models.PROTECT, related_name="+")
    first_c = models.FloatField("temperature at the beginning")
    last = models.OneToOneField(Reading, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    last_c = models.FloatField("temperature at the end", null=True, blank=True)
    dropped_at = models.DateTimeField(null=True, blank=True)
    dropped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    why = models.CharField("why it was dropped", max_length=300, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["cylinder"],
                condition=Q(last__isnull=True, dropped_at__isnull=True),
                name="room_one_standing_test_at_a_time",
            ),
            models.CheckConstraint(
                condition=Q(last__isnull=True, last_c__isnull=True) | Q(last__isnull=False, last_c__isnull=False),
                name="room_standing_test_ends_with_both",
            ),
            models.CheckConstraint(
                condition=Q(last__isnull=True) | Q(dropped_at__isnull=True), name="room_standing_test_ended_or_dropped"
            ),
            models.CheckConstraint(
                condition=Q(dropped_at__isnull=True) | (Q(dropped_by__isnull=False) & ~Q(why="")),
                name="room_dropped_by_and_why",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["cylinder", "-id"], name="room_standing_of")]

    def __str__(self) -> str:
        return f"standing test of {self.cylinder}"

    @property
    def is_running(self) -> bool:
        return self.last_id is None and self.dropped_at is None
