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

__all__ = [
    "act",
    "acts",
    "acts_pdf",
    "add_act",
    "change_act",
    "give_authority",
    "resume_act",
    "stop_act",
    "withdraw_authority",
]
