"""Everything that reads in cutting, by topic; import from here."""

from shop.cutting.models import CuttingLimits
from shop.cutting.queries.bookings import (
    DayNeeds,
    NeededSide,
    SideState,
    bookings,
    claims,
    day_needs,
    is_withdrawn,
    needs_of,
    next_code,
    side_states,
    uncut,
    uncut_of,
    uncut_sides,
)
from shop.cutting.queries.sides import Trail, owners, sides, trail
from shop.cutting.queries.styli import (
    CONFIDENCES,
    Chance,
    Outlook,
    Record,
    StylusState,
    chances,
    empty_heads,
    fitted_lives,
    fittings,
    kinds,
    life_outlook,
    outlooks,
    posterior_of,
    records,
    sides_of,
    state_of,
    styli,
    styli_of_any_state,
    stylus_lots,
    stylus_outlook,
    usual_hours,
)
from shop.recall import recalled

__all__ = [
    "CONFIDENCES",
    "Chance",
    "DayNeeds",
    "NeededSide",
    "Outlook",
    "Record",
    "SideState",
    "StylusState",
    "Trail",
    "bookings",
    "chances",
    "claims",
    "day_needs",
    "empty_heads",
    "fitted_lives",
    "fittings",
    "is_withdrawn",
    "kinds",
    "life_outlook",
    "limits",
    "needs_of",
    "next_code",
    "outlooks",
    "owners",
    "posterior_of",
    "records",
    "side_states",
    "sides",
    "sides_of",
    "state_of",
    "styli",
    "styli_of_any_state",
    "stylus_lots",
    "stylus_outlook",
    "trail",
    "uncut",
    "uncut_of",
    "uncut_sides",
    "usual_hours",
]


@recalled
def limits() -> CuttingLimits:
    """The shop's own limits for cutting; the model's defaults where nobody has set any."""
    return CuttingLimits.objects.filter(pk=1).first() or CuttingLimits(pk=1)
