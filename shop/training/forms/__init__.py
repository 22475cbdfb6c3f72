"""Forms of training, by topic."""

from shop.training.forms.acts import (
    AddActForm,
    ChangeActForm,
    GiveAuthorityForm,
    ResumeActForm,
    StopActForm,
    WithdrawAuthorityForm,
)

__all__ = [
    "AddActForm",
    "ChangeActForm",
    "GiveAuthorityForm",
    "ResumeActForm",
    "StopActForm",
    "WithdrawAuthorityForm",
]
