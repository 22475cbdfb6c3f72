"""The tables of training."""

from shop.training.models.acts import SIGN_OFF, Act, Authority, AuthorityWithdrawn
from shop.training.models.programmes import SIGNED, Enrolment, Programme, Question, Step, StepKind
from shop.training.models.records import Answer, How, SignOff, SignOffWithdrawn

__all__ = [
    "SIGNED",
    "SIGN_OFF",
    "Act",
    "Answer",
    "Authority",
    "AuthorityWithdrawn",
    "Enrolment",
    "How",
    "Programme",
    "Question",
    "SignOff",
    "SignOffWithdrawn",
    "Step",
    "StepKind",
]
