"""The tables of cutting, by topic; import from here."""

from shop.cutting.models.bookings import Booking, BookingSide, DiscSize, Speed
from shop.cutting.models.figures import CostFigures, CuttingLimits, PlanFigures
from shop.cutting.models.noise import NoiseLevel
from shop.cutting.models.plating import WAITING, EarlierReport, Master, Parcel, Report
from shop.cutting.models.running import UNDER_WAY, RunningSide
from shop.cutting.models.sides import AGAINST_STYLUS, Blame, Outcome, RejectReason, Side, Withdrawal
from shop.cutting.models.steps import HeadStep
from shop.cutting.models.styli import (
    Away,
    CameBack,
    EdgeLook,
    EndReason,
    Fitting,
    Lathe,
    Life,
    Overruling,
    Stylus,
    StylusKind,
    Sureness,
    TipPhoto,
    came_with_s,
)

__all__ = [
    "AGAINST_STYLUS",
    "UNDER_WAY",
    "WAITING",
    "Away",
    "Blame",
    "Booking",
    "BookingSide",
    "CameBack",
    "CostFigures",
    "CuttingLimits",
    "DiscSize",
    "EarlierReport",
    "EdgeLook",
    "EndReason",
    "Fitting",
    "HeadStep",
    "Lathe",
    "Life",
    "Master",
    "NoiseLevel",
    "Outcome",
    "Overruling",
    "Parcel",
    "PlanFigures",
    "RejectReason",
    "Report",
    "RunningSide",
    "Side",
    "Speed",
    "Stylus",
    "StylusKind",
    "Sureness",
    "TipPhoto",
    "Withdrawal",
    "came_with_s",
]
