"""What can be done about training, by topic."""

from shop.training.actions.acts import (
    add_act,
    change_act,
    give_authority,
    resume_act,
    stop_act,
    withdraw_authority,
)
from shop.training.actions.answers import answer_question
from shop.training.actions.enrolments import change_enrolment, end_enrolment, enrol, see_changes
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
from shop.training.actions.reading import read_again
from shop.training.actions.rules import change_training_rules
from shop.training.actions.signing import note_self_signing, sign_off, withdraw_sign_off

__all__ = [
    "add_act",
    "add_programme",
    "add_step",
    "answer_question",
    "change_act",
    "change_enrolment",
    "change_programme",
    "change_questions",
    "change_step",
    "change_training_rules",
    "copy_programme",
    "end_enrolment",
    "enrol",
    "give_authority",
    "move_step",
    "note_self_signing",
    "read_again",
    "resume_act",
    "resume_programme",
    "resume_step",
    "see_changes",
    "sign_off",
    "stop_act",
    "stop_programme",
    "stop_step",
    "withdraw_authority",
    "withdraw_sign_off",
]
