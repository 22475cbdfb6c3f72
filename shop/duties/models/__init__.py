"""The tables of duties."""

from shop.duties.models.duties import FOR_ROLES, CountsFrom, Duty, DutyStep, LateGrade, StepQuantity, Touch
from shop.duties.models.entries import SETTLES, Entry, EntryKind, EntryStep, Photo, Touched
from shop.duties.models.meters import Meter, MeterUnit, Tick

__all__ = [
    "FOR_ROLES",
    "SETTLES",
    "CountsFrom",
    "Duty",
    "DutyStep",
    "Entry",
    "EntryKind",
    "EntryStep",
    "LateGrade",
    "Meter",
    "MeterUnit",
    "Photo",
    "StepQuantity",
    "Tick",
    "Touch",
    "Touched",
]
