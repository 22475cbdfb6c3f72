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
from shop.stock.forms.orders import (
    ChangeOrderForm,
    CloseOrderShortForm,
    DraftOrderForm,
    DropOrderForm,
    PromiseAnewForm,
    SendOrderForm,
)
from shop.stock.forms.outlook import WhatIfForm
from shop.stock.forms.planning import PlanItemForm
from shop.stock.forms.receiving import InspectLotForm, ReceiveDeliveryForm, ReceiveOnOrderForm

__all__ = [
    "AddDefectForm",
    "AddItemForm",
    "AddSupplierForm",
    "ChangeDefectForm",
    "ChangeItemForm",
    "ChangeOrderForm",
    "ChangeSupplierForm",
    "CloseOrderShortForm",
    "CorrectLotForm",
    "CountLotForm",
    "DraftOrderForm",
    "DropOrderForm",
    "HoldLotForm",
    "InspectLotForm",
    "LotLabelsForm",
    "PlanItemForm",
    "PromiseAnewForm",
    "ReceiveDeliveryForm",
    "ReceiveOnOrderForm",
    "ReleaseLotForm",
    "ReturnStockForm",
    "ReverseMovementForm",
    "SendOrderForm",
    "ShelfLabelsForm",
    "SpoilStockForm",
    "TestStockForm",
    "UseStockForm",
    "WhatIfForm",
]
