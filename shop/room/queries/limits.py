"""The shop's limits, and which of them a value lies outside."""

from shop.concern import Grade
from shop.recall import recalled
from shop.room.models import Limit, LimitKind


@recalled
def limits() -> dict[LimitKind, Limit]:
    """The shop's limits that are set."""
    return {LimitKind(limit.kind): limit for limit in Limit.objects.all()}


def limit_of(kind: LimitKind) -> Limit:
    """The limits of one kind; unsaved and empty where none are set."""
    return Limit.objects.filter(kind=kind).first() or Limit(kind=kind, version=0)


def crossed(value: float, limit: Limit | None) -> tuple[Grade, str] | None:
    """The gravest limit that a stored value lies outside, as grade and field name; None while it is inside them all."""
    if limit is None:
        return None
    for grade, name in ((Grade.HOLD, "hold"), (Grade.CARE, "care")):
        low, high = getattr(limit, f"{name}_below"), getattr(limit, f"{name}_above")
        if low is not None and value < low:
            return grade, f"{name}_below"
        if high is not None and value > high:
            return grade, f"{name}_above"
    return None
