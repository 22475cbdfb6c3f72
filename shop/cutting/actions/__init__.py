"""Everything that writes in cutting, by topic; import from here."""

from shop.cutting.actions.bookings import (
    WantedSide,
    add_booking,
    cancel_booking,
    change_booking,
    finish_booking,
    reopen_booking,
)
from shop.cutting.actions.lists import (
    add_lathe,
    add_reject_reason,
    add_stylus_kind,
    change_cost_figures,
    change_lathe,
    change_limits,
    change_reject_reason,
    change_stylus_kind,
)
from shop.cutting.actions.sides import log_side, may_withdraw, withdraw_side
from shop.cutting.actions.styli import (
    add_stylus,
    fit_stylus,
    look_over_stylus,
    reinstate_stylus,
    retire_stylus,
    take_off_stylus,
)

__all__ = [
    "WantedSide",
    "add_booking",
    "add_lathe",
    "add_reject_reason",
    "add_stylus",
    "add_stylus_kind",
    "cancel_booking",
    "change_booking",
    "change_cost_figures",
    "change_lathe",
    "change_limits",
    "change_reject_reason",
    "change_stylus_kind",
    "finish_booking",
    "fit_stylus",
    "log_side",
    "look_over_stylus",
    "may_withdraw",
    "reinstate_stylus",
    "reopen_booking",
    "retire_stylus",
    "take_off_stylus",
    "withdraw_side",
]
