"""Forms of stock, one for each action, named after it."""

from shop.stock.forms.catalogue import (
    AddDefectForm,
    AddItemForm,
    AddSupplierForm,
    ChangeDefectForm,
    ChangeItemForm,
    ChangeSupplierForm,
)
from shop.stock.forms.labels import LotLabelsForm, ShelfLabelsForm
from shop.stock.forms.lots import (
    CorrectLotForm,
    CountLotForm,
    HoldLotForm,
    ReleaseLotForm,
    ReturnStockForm,
    ReverseMovementForm,
    SpoilStockForm,
    TestStockForm,
    UseStockForm,
)
from shop.stock.forms.planning import PlanItemForm
from shop.stock.forms.receiving import ReceiveDeliveryForm

__all__ = [
    "AddDefectForm",
    "AddItemForm",
    "AddSupplierForm",
    "ChangeDefectForm",
    "ChangeItemForm",
    "ChangeSupplierForm",
    "CorrectLotForm",
    "CountLotForm",
    "HoldLotForm",
    "LotLabelsForm",
    "PlanItemForm",
    "ReceiveDeliveryForm",
    "ReleaseLotForm",
    "ReturnStockForm",
    "ReverseMovementForm",
    "ShelfLabelsForm",
    "SpoilStockForm",
    "TestStockForm",
    "UseStockForm",
]
