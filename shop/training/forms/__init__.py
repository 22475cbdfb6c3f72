"""Forms of training, by topic."""

from shop.training.forms.acts import (
    AddActForm,
    ChangeActForm,
    GiveAuthorityForm,
    ResumeActForm,
    StopActForm,
    WithdrawAuthorityForm,
)
from shop.training.forms.learning import (
    AnswerQuestionForm,
    ChangeEnrolmentForm,
    ChangeTrainingRulesForm,
    EndEnrolmentForm,
    EnrolForm,
    ReadAgainForm,
    SeeChangesForm,
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
from shop.training.forms.signing import SignOffForm, WithdrawSignOffForm

__all__ = [
    "AddActForm",
    "AddProgrammeForm",
    "AddStepForm",
    "AnswerQuestionForm",
    "ChangeActForm",
    "ChangeEnrolmentForm",
    "ChangeProgrammeForm",
    "ChangeQuestionsForm",
    "ChangeStepForm",
    "ChangeTrainingRulesForm",
    "CopyProgrammeForm",
    "EndEnrolmentForm",
    "EnrolForm",
    "GiveAuthorityForm",
    "MoveStepForm",
    "ReadAgainForm",
    "ResumeActForm",
    "ResumeProgrammeForm",
    "ResumeStepForm",
    "SeeChangesForm",
    "SignOffForm",
    "StopActForm",
    "StopProgrammeForm",
    "StopStepForm",
    "WithdrawAuthorityForm",
    "WithdrawSignOffForm",
]
