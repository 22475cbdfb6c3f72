"""Forms of training, by topic."""

from shop.training.forms.acts import (
    AddActForm,
    ChangeActForm,
    GiveAuthorityForm,
    ResumeActForm,
    StopActForm,
    WithdrawAuthorityForm,
)
from shop.training.forms.programmes import (
    AddProgrammeForm,
    AddStepForm,
    ChangeProgrammeForm,
    ChangeQuestionsForm,
    ChangeStepForm,
    CopyProgrammeForm,
    MoveStepForm,
    ResumeProgrammeForm,
    ResumeStepForm,
    StopProgrammeForm,
    StopStepForm,
)

__all__ = [
    "AddActForm",
    "AddProgrammeForm",
    "AddStepForm",
    "ChangeActForm",
    "ChangeProgrammeForm",
    "ChangeQuestionsForm",
    "ChangeStepForm",
    "CopyProgrammeForm",
    "GiveAuthorityForm",
    "MoveStepForm",
    "ResumeActForm",
    "ResumeProgrammeForm",
    "ResumeStepForm",
    "StopActForm",
    "StopProgrammeForm",
    "StopStepForm",
    "WithdrawAuthorityForm",
]
