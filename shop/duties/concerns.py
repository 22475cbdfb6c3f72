"""What the meters worry about: those past the shop's own limits."""

from datetime import datetime

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.duties.models import Meter
from shop.duties.queries import MeterState, states


def concerns(now: datetime) -> list[Concern]:
    """One concern for each meter at or past a limit."""
    return [_of(state, state.grade) for state in states() if state.grade is not None]


def _of(state: MeterState, grade: Grade) -> Concern:
    meter = state.meter
    limit = meter.hold_at if grade is Grade.HOLD else meter.care_at
    assert limit is not None
    return Concern(
        key=f"duties:meter:{meter.key}",
        grade=grade,
        subject=meter.name,
        headline=f"{meter.name}: {meter.shown(meter.value)}, past the limit for {grade.word}",
        reason=f"{_since(meter)} The shop's own limit for {grade.word} is {meter.shown(limit)}.",
        what_to_do=" ".join(part for part in (meter.what_to_do, meter.caution) if part),
        link=reverse("duties:reset-meter", args=[meter.pk]),
    )


def _since(meter: Meter) -> str:
    if meter.reset_at is None:
        return "Counted since the room began counting."
    day = clock.day_of(meter.reset_at)
    return f"Counted since {day:%-d %B %Y} ({meter.reset_word})."
