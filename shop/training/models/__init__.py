"""The tables of training."""

from shop.training.models.acts import Act, Authority, AuthorityWithdrawn
from shop.training.models.programmes import (
    SIGNED,
    Enrolment,
    Programme,
    ProgrammeChange,
    Question,
    QuestionEdition,
    Step,
    StepEdition,
    StepKind,
)
from shop.training.models.records import Answer, How, ReadAgain, SelfSigning, SignOff, SignOffWithdrawn, TrainingRules

__all__ = [
    "SIGNED",
    "Act",
    "Answer",
    "Authority",
    "AuthorityWithdrawn",
    "Enrolment",
    "How",
    "Programme",
    "ProgrammeChange",
    "Question",
    "QuestionEdition",
    "ReadAgain",
    "SelfSigning",
    "SignOff",
    "SignOffWithdrawn",
    "Step",
    "StepEdition",
    "StepKind",
    "TrainingRules",
]
