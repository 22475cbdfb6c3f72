"""The forms of safety, by topic; each is named after its action."""

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
from shop.safety.forms.places import (
    AddPlaceForm,
    AnswerFindingForm,
    ChangeKeptForm,
    ChangePlaceForm,
    ResumePlaceForm,
    StopPlaceForm,
)
from shop.safety.forms.supplier_sheets import AddSupplierSheetForm, SendSupplierSheetForm, WithdrawSupplierSheetForm
from shop.safety.forms.wall import KeepCallNumbersForm, KeepExtinguishersForm, KeepShutOffsForm
from shop.safety.forms.what_if import (
    WhatIfForm,
)

__all__ = [
    "AddPlaceForm",
    "AddSheetForm",
    "AddSupplierSheetForm",
    "AnswerFindingForm",
    "ApproveSheetForm",
    "ChangeKeptForm",
    "ChangePlaceForm",
    "ChangeSafetyRulesForm",
    "ConfirmSheetReadForm",
    "DropDraftForm",
    "KeepCallNumbersForm",
    "KeepExtinguishersForm",
    "KeepShutOffsForm",
    "NoteIncidentForm",
    "ReportIncidentForm",
    "ResumePlaceForm",
    "ResumeSheetForm",
    "SendSupplierSheetForm",
    "StopPlaceForm",
    "StopSheetForm",
    "WhatIfForm",
    "WithdrawSupplierSheetForm",
    "WithdrawVersionForm",
    "WriteSheetForm",
]
