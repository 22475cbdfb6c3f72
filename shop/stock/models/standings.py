"""Which lots are clearly worse than their fellows."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from shop.stock.models.lots import Lot


class ClearlyWorse(models.Model):
    """That a lot is clearly worse than its fellows, with the figures of the comparison: see stock.quality.

    Worked out anew with every movement that could change it, never typed; gone when the lot is no longer so. It is kept
    so that today's page need not compare. tried, faulty: of the lot; fellows: how many lots it was compared with;
    fellows_tried, fellows_faulty: of all of them together; chance: that a lot no worse than they are looks as bad or
    worse, allowed for the `comparisons` that were made.
    """

    lot = models.OneToOneField(Lot, on_delete=models.CASCADE, primary_key=True, related_name="worse")
    worked_at = models.DateTimeField()
    tried = models.PositiveIntegerField()
    faulty = models.PositiveIntegerField()
    fellows = models.PositiveIntegerField()
    fellows_tried = models.PositiveIntegerField()
    fellows_faulty = models.PositiveIntegerField()
    chance = models.FloatField()
    comparisons = models.PositiveIntegerField()

    class Meta:
        verbose_name_plural = "clearly worse lots"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(chance__gte=0, chance__lte=1), name="stock_worse_by_a_chance"),
            models.CheckConstraint(condition=Q(faulty__lte=models.F("tried")), name="stock_faulty_of_tried"),
        ]

    @property
    def figures(self) -> tuple[int, ...]:
        """The counts that the comparison rests on."""
        own, others = (self.tried, self.faulty), (self.fellows, self.fellows_tried, self.fellows_faulty)
        return (*own, *others, self.comparisons)

    def __str__(self) -> str:
        return f"lot {self.lot_id} is clearly worse"
