"""What can be done about training, by topic."""

from shop.training.actions.acts import (
    add_act,
    change_act,
    give_authority,
    resume_act,
    stop_act,
    withdraw_authority,
)

__all__ = ["add_act", "change_act", "give_authority", "resume_act", "stop_act", "withdraw_authority"]
