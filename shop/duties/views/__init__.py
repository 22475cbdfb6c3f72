"""The pages of care, by topic."""

from shop.duties.views.due import due, due_pdf, month
from shop.duties.views.duties import add_duty, change_duty, duties, duty, duty_card, resume_duty, stop_duty
from shop.duties.views.entries import correct_entry, do_duty, entry, not_needed, photo, put_off_duty, strike_entry
from shop.duties.views.meters import change_meter, meter, meters, reset_meter

__all__ = [
    "add_duty",
    "change_duty",
    "change_meter",
    "correct_entry",
    "do_duty",
    "due",
    "due_pdf",
    "duties",
    "duty",
    "duty_card",
    "entry",
    "meter",
    "meters",
    "month",
    "not_needed",
    "photo",
    "put_off_duty",
    "reset_meter",
    "resume_duty",
    "stop_duty",
    "strike_entry",
]
