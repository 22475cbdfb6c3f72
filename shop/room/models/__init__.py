"""The tables of the room, by topic."""

from shop.room.models.chip import ChipCan, ChipStored, can_named
from shop.room.models.cylinders import Cylinder, ExplainedLoss, Gas, GasForecast, GasUse
from shop.room.models.instruments import Instrument, ReadingHour, RefusedReading
from shop.room.models.readings import LIMIT_ORDER, Limit, LimitKind, Reading, ReadingKind
from shop.room.models.standing import StandingTest
from shop.room.models.vacuum import SUCTION, LineBaseline, LinePart, LineRules, PartKind

__all__ = [
    "LIMIT_ORDER",
    "SUCTION",
    "ChipCan",
    "ChipStored",
    "Cylinder",
    "ExplainedLoss",
    "Gas",
    "GasForecast",
    "GasUse",
    "Instrument",
    "Limit",
    "LimitKind",
    "LineBaseline",
    "LinePart",
    "LineRules",
    "PartKind",
    "Reading",
    "ReadingHour",
    "ReadingKind",
    "RefusedReading",
    "StandingTest",
    "can_named",
]
