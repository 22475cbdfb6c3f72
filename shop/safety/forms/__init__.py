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
from shop.safety.forms.supplier_sheets import AddSupplierSheetForm, SendSupplierSheetForm, WithdrawSupplierSheetForm
from shop.safety.forms.wall import KeepCallNumbersForm, KeepExtinguishersForm, KeepShutOffsForm

__all__ = [
    "AddSheetForm",
    "AddSupplierSheetForm",
    "ApproveSheetForm",
    "ChangeSafetyRulesForm",
    "ConfirmSheetReadForm",
    "DropDraftForm",
    "KeepCallNumbersForm",
    "KeepExtinguishersForm",
    "KeepShutOffsForm",
    "ResumeSheetForm",
    "SendSupplierSheetForm",
    "StopSheetForm",
    "WithdrawSupplierSheetForm",
    "WithdrawVersionForm",
    "WriteSheetForm",
]
