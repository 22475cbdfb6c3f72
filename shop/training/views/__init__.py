"""Pages of training, by topic."""

from shop.training.views.acts import (
    act,
    acts,
    acts_pdf,
    add_act,
    change_act,
    give_authority,
    resume_act,
    stop_act,
    withdraw_authority,
)
from shop.training.views.programme_steps import (
    add_step,
    change_questions,
    change_step,
    move_step,
    resume_step,
    step,
    stop_step,
)
from shop.training.views.programmes import (
    add_programme,
    change_programme,
    copy_programme,
    programme,
    programme_pdf,
    programmes,
    resume_programme,
    stop_programme,
)

__all__ = [
    "act",
    "acts",
    "acts_pdf",
    "add_act",
    "add_programme",
    "add_step",
    "change_act",
    "change_programme",
    "change_questions",
    "change_step",
    "copy_programme",
    "give_authority",
    "move_step",
    "programme",
    "programme_pdf",
    "programmes",
    "resume_act",
    "resume_programme",
    "resume_step",
    "step",
    "stop_act",
    "stop_programme",
    "stop_step",
    "withdraw_authority",
]
