"""The forms of safety, by topic; each is named after its action."""

from shop.safety.forms.containers import (
    FinishContainerForm,
    MoveContainerForm,
    OpenContainerForm,
    ReadLevelForm,
    SetOpenDaysForm,
)
from shop.safety.forms.hazard_sheets import (
    AddSheetForm,
    ApproveSheetForm,
    ChangeSafetyRulesForm,
    ConfirmSheetReadForm,
    DropDraftForm,
    ResumeSheetForm,
    StopSheetForm,
    WithdrawVersionForm,
    WriteSheetForm,
)
from shop.safety.forms.incidents import (
    NoteIncidentForm,
    ReportIncidentForm,
)
from shop.safety.forms.papers import (
    ContainerLabelsForm,
    MakeBinderForm,
)
from shop.safety.forms.places import (
    AddPlaceForm,
    AnswerFindingForm,
    ChangeKeptForm,
    ChangePlaceForm,
    ResumePlaceForm,
    StopPlaceForm,
)
from shop.safety.forms.substances import (
    AddSubstanceForm,
    ChangeExposureLimitsForm,
    ChangePropertiesForm,
    ChangeStatementsForm,
    ChangeSubstanceForm,
    ClassifySubstanceForm,
    ResumeSubstanceForm,
    StopSubstanceForm,
)
from shop.safety.forms.supplier_sheets import (
    AddSupplierSheetForm,
    SendSupplierSheetForm,
    WithdrawSupplierSheetForm,
)
from shop.safety.forms.wall import (
    KeepCallNumbersForm,
    KeepExtinguishersForm,
    KeepShutOffsForm,
)
from shop.safety.forms.what_if import (
    WhatIfForm,
)

__all__ = [
    "AddPlaceForm",
    "AddSheetForm",
    "AddSubstanceForm",
    "AddSupplierSheetForm",
    "AnswerFindingForm",
    "ApproveSheetForm",
    "ChangeExposureLimitsForm",
    "ChangeKeptForm",
    "ChangePlaceForm",
    "ChangePropertiesForm",
    "ChangeSafetyRulesForm",
    "ChangeStatementsForm",
    "ChangeSubstanceForm",
    "ClassifySubstanceForm",
    "ConfirmSheetReadForm",
    "ContainerLabelsForm",
    "DropDraftForm",
    "FinishContainerForm",
    "KeepCallNumbersForm",
    "KeepExtinguishersForm",
    "KeepShutOffsForm",
    "MakeBinderForm",
    "MoveContainerForm",
    "NoteIncidentForm",
    "OpenContainerForm",
    "ReadLevelForm",
    "ReportIncidentForm",
    "ResumePlaceForm",
    "ResumeSheetForm",
    "ResumeSubstanceForm",
    "SendSupplierSheetForm",
    "SetOpenDaysForm",
    "StopPlaceForm",
    "StopSheetForm",
    "StopSubstanceForm",
    "WhatIfForm",
    "WithdrawSupplierSheetForm",
    "WithdrawVersionForm",
    "WriteSheetForm",
]
