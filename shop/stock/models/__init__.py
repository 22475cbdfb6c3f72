"""The tables of stock."""

from shop.stock.models.catalogue import BlankSize, Defect, Item, ItemKind, StockUnit, Supplier
from shop.stock.models.figures import ReorderFigure
from shop.stock.models.inspections import Inspection, InspectionDefect, Outcome
from shop.stock.models.lots import Lot, Remark, RemarkKind, last_day_of
from shop.stock.models.movements import USE, Movement, MovementKind, WeekUse
from shop.stock.models.orders import STILL_TO_COME, UNDER_WAY, Order, OrderLine, OrderState, OrderStep, StepKind

__all__ = [
    "STILL_TO_COME",
    "UNDER_WAY",
    "USE",
    "BlankSize",
    "Defect",
    "Inspection",
    "InspectionDefect",
    "Item",
    "ItemKind",
    "Lot",
    "Movement",
    "MovementKind",
    "Order",
    "OrderLine",
    "OrderState",
    "OrderStep",
    "Outcome",
    "Remark",
    "RemarkKind",
    "ReorderFigure",
    "StepKind",
    "StockUnit",
    "Supplier",
    "WeekUse",
    "last_day_of",
]
