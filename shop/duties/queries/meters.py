"""Reading meters."""

from dataclasses import dataclass

from django.db.models import QuerySet

from shop.concern import Grade
from shop.duties.models import Meter, Tick
from shop.recall import recalled


def meter(key: str) -> Meter | None:
    """The meter of that key, if the room has it."""
    return next((state.meter for state in states() if state.meter.key == key), None)


@dataclass(frozen=True)
class MeterState:
    """A meter with what its value means under the shop's own limits.

    grade: None while it is under both; share: how full it is of the highest limit, 0 to 1; None where there is none.
    """

    meter: Meter
    grade: Grade | None
    share: float | None

    @property
    def text(self) -> str:
        """The value, and the limit it stands before or has passed: "4.2 g, the shop's limit 12 g"."""
        now = self.meter.shown(self.meter.stands_at)
        return f"{now}, {self.meter.limit_words}" if self.meter.limit_words else now


def state_of(meter: Meter) -> MeterState:
    """Grade and share of one meter, from its row alone."""
    grade = None
    value = meter.stands_at
    if meter.hold_at is not None and value >= meter.hold_at:
        grade = Grade.HOLD
    elif meter.care_at is not None and value >= meter.care_at:
        grade = Grade.CARE
    limit = meter.hold_at if meter.hold_at is not None else meter.care_at
    share = min(value / limit, 1.0) if limit else None
    return MeterState(meter=meter, grade=grade, share=share)


@recalled
def states() -> list[MeterState]:
    """Every meter of the room, by name: one query."""
    return [state_of(meter) for meter in Meter.objects.all()]


def ticks_of(meter: Meter) -> QuerySet[Tick]:
    """The meter's ticks, last written first, with who wrote them."""
    return Tick.objects.filter(meter=meter).select_related("by", "meter").order_by("-id")
