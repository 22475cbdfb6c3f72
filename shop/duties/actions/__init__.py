"""Everything that duties write, by topic."""

from shop.duties.actions.corrections import correct_entry, strike_entry
from shop.duties.actions.duties import add_duty, begin_duty, change_duty, resume_duty, stop_duty
from shop.duties.actions.entries import StepDone, do_duty, not_needed, put_off_duty
from shop.duties.actions.meters import change_meter, reset_meter

__all__ = [
    "StepDone",
    "add_duty",
    "begin_duty",
    "change_duty",
    "change_meter",
    "correct_entry",
    "do_duty",
    "not_needed",
    "put_off_duty",
    "reset_meter",
    "resume_duty",
    "stop_duty",
    "strike_entry",
]
