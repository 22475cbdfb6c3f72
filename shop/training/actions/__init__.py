"""What can be done about training, by topic."""

from shop.training.actions.acts import (
    add_act,
    change_act,
    give_authority,
    resume_act,
    stop_act,
    withdraw_authority,
)
from shop.training.actions.programme_steps import (
    add_step,
    change_questions,
    change_step,
    move_step,
    resume_step,
    stop_step,
)
from shop.training.actions.programmes import (
    add_programme,
    change_programme,
    copy_programme,
    resume_programme,
    stop_programme,
)

__all__ = [
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
    "resume_act",
    "resume_programme",
    "resume_step",
    "stop_act",
    "stop_programme",
    "stop_step",
    "withdraw_authority",
]
