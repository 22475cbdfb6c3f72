"""Everything that writes in cutting, by topic; import from here."""

from shop.cutting.actions.away import send_stylus_away, take_stylus_back
from shop.cutting.actions.bookings import (
    WantedSide,
    WantedTitle,
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
from shop.cutting.actions.noise import add_noise_level, strike_noise_level
from shop.cutting.actions.plans import add_head_step, change_head_step, change_plan_figures
from shop.cutting.actions.plating import (
    Said,
    keep_masters_back,
    note_arrival,
    report_masters,
    send_after_all,
    send_masters,
)
from shop.cutting.actions.running import drop_side, judge_as_logged, judge_side, seconds_of, start_side, stop_side
from shop.cutting.actions.sides import log_side, may_withdraw, withdraw_side
from shop.cutting.actions.styli import (
    add_stylus,
    change_stylus,
    fit_stylus,
    look_over_stylus,
    reinstate_stylus,
    retire_stylus,
    take_off_stylus,
)
from shop.cutting.actions.tips import add_tip_photo, overrule_advice

__all__ = [
    "Said",
    "WantedSide",
    "WantedTitle",
    "add_booking",
    "add_head_step",
    "add_lathe",
    "add_noise_level",
    "add_reject_reason",
    "add_stylus",
    "add_stylus_kind",
    "add_tip_photo",
    "cancel_booking",
    "change_booking",
    "change_cost_figures",
    "change_head_step",
    "change_lathe",
    "change_limits",
    "change_plan_figures",
    "change_reject_reason",
    "change_stylus",
    "change_stylus_kind",
    "drop_side",
    "finish_booking",
    "fit_stylus",
    "judge_as_logged",
    "judge_side",
    "keep_masters_back",
    "log_side",
    "look_over_stylus",
    "may_withdraw",
    "note_arrival",
    "overrule_advice",
    "reinstate_stylus",
    "reopen_booking",
    "report_masters",
    "retire_stylus",
    "seconds_of",
    "send_after_all",
    "send_masters",
    "send_stylus_away",
    "start_side",
    "stop_side",
    "strike_noise_level",
    "take_off_stylus",
    "take_stylus_back",
    "withdraw_side",
]
