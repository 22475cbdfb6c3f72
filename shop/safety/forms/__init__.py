"""The forms of safety, by topic; each is named after its action."""

from shop.safety.forms.supplier_sheets import (
    AddSupplierSheetForm,
    SendSupplierSheetForm,
    WithdrawSupplierSheetForm,
)
from shop.safety.forms.wall import KeepCallNumbersForm, KeepExtinguishersForm, KeepShutOffsForm

__all__ = [
    "AddSupplierSheetForm",
    "KeepCallNumbersForm",
    "KeepExtinguishersForm",
    "KeepShutOffsForm",
    "SendSupplierSheetForm",
    "WithdrawSupplierSheetForm",
]
