"""Everything that reads in cutting, by topic; import from here."""

from typing import Any

from shop.alongside import row_of
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
    sides_by_day,
    uncut,
    uncut_of,
    uncut_sides,
)
from shop.cutting.queries.costing import (
    MOST_SIDES,
    Costs,
    CutCost,
    cost_figures,
    costed_sides,
    costs,
    costs_between,
    costs_of,
)
from shop.cutting.queries.sides import Trail, faulty_blanks, good_cut, owners, sides, sides_since, trail
from shop.cutting.queries.styli import (
    CONFIDENCES,
    Chance,
    Outlook,
    Record,
    StylusState,
    chances,
    doubted_edges,
    doubts_in_heads,
    empty_heads,
    fitted_lives,
    fittings,
    heads,
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
from shop.cutting.queries.tracing import MOST_MATCHES, MOST_TOUCHED, Matches, Touched, Trace, Traced, matches, trace
from shop.recall import recalled

__all__ = [
    "CONFIDENCES",
    "MOST_MATCHES",
    "MOST_SIDES",
    "MOST_TOUCHED",
    "Chance",
    "Costs",
    "CutCost",
    "DayNeeds",
    "Matches",
    "NeededSide",
    "Outlook",
    "Record",
    "SideState",
    "StylusState",
    "Touched",
    "Trace",
    "Traced",
    "Trail",
    "bookings",
    "chances",
    "claims",
    "cost_figures",
    "costed_sides",
    "costs",
    "costs_between",
    "costs_of",
    "day_needs",
    "doubted_edges",
    "doubts_in_heads",
    "empty_heads",
    "faulty_blanks",
    "fitted_lives",
    "fittings",
    "good_cut",
    "is_withdrawn",
    "kinds",
    "life_outlook",
    "limits",
    "matches",
    "needs_of",
    "next_code",
    "outlooks",
    "owners",
    "posterior_of",
    "records",
    "side_states",
    "sides",
    "sides_by_day",
    "sides_of",
    "sides_since",
    "state_of",
    "styli",
    "styli_of_any_state",
    "stylus_lots",
    "stylus_outlook",
    "trace",
    "trail",
    "uncut",
    "uncut_of",
    "uncut_sides",
    "usual_hours",
]


@recalled
def limits() -> CuttingLimits:
    """The shop's own limits for cutting; the model's defaults where nobody has set any. No query beside `heads`."""
    lathes: tuple[Any, ...] = heads()
    if lathes:
        return row_of(CuttingLimits, lathes[0].limits)
    return CuttingLimits.objects.filter(pk=1).first() or CuttingLimits(pk=1)
