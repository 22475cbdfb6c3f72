"""The tables of stock."""

from shop.stock.models.catalogue import BlankSize, Defect, Item, ItemKind, StockUnit, Supplier
from shop.stock.models.counts import (
    UNSETTLED,
    Count,
    CountLine,
    CountState,
    CountStep,
    CountStepKind,
    Settled,
    Tally,
)
from shop.stock.models.figures import ReorderFigure
from shop.stock.models.inspections import Inspection, InspectionDefect, Outcome
from shop.stock.models.intakes import AT_WORK, Intake, IntakeState, PastUse, SheetKind
from shop.stock.models.lots import Lot, Remark, RemarkKind, last_day_of
from shop.stock.models.movements import USE, Movement, MovementKind, WeekUse
from shop.stock.models.orders import STILL_TO_COME, UNDER_WAY, Order, OrderLine, OrderState, OrderStep, StepKind
from shop.stock.models.standings import ClearlyWorse

__all__ = [
    "AT_WORK",
    "STILL_TO_COME",
    "UNDER_WAY",
    "UNSETTLED",
    "USE",
    "BlankSize",
    "ClearlyWorse",
    "Count",
    "CountLine",
    "CountState",
    "CountStep",
    "CountStepKind",
    "Defect",
    "Inspection",
    "InspectionDefect",
    "Intake",
    "IntakeState",
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
    "PastUse",
    "Remark",
    "RemarkKind",
    "ReorderFigure",
    "Settled",
    "SheetKind",
    "StepKind",
    "StockUnit",
    "Supplier",
    "Tally",
    "WeekUse",
    "last_day_of",
]
