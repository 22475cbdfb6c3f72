"""The tables of safety."""

from shop.safety.models.containers import Container, EndKind, Level, OpenLimit
from shop.safety.models.hazard_sheets import (
    HazardSheet,
    Part,
    SafetyRules,
    SecondPerson,
    SheetRead,
    SheetVersion,
    SheetWithdrawn,
)
from shop.safety.models.incidents import Incident, IncidentKind, IncidentNote
from shop.safety.models.papers import Binder
from shop.safety.models.places import CallNumber, Extinguisher, FindingAnswer, Kept, LimitBy, Place, ShutOff
from shop.safety.models.substances import (
    ExposureLimit,
    Form,
    Hazard,
    LimitKind,
    Property,
    PropertyKind,
    Statement,
    Substance,
)
from shop.safety.models.supplier_sheets import Signal, SupplierSheet, SupplierSheetWithdrawn

__all__ = [
    "Binder",
    "CallNumber",
    "Container",
    "EndKind",
    "ExposureLimit",
    "Extinguisher",
    "FindingAnswer",
    "Form",
    "Hazard",
    "HazardSheet",
    "Incident",
    "IncidentKind",
    "IncidentNote",
    "Kept",
    "Level",
    "LimitBy",
    "LimitKind",
    "OpenLimit",
    "Part",
    "Place",
    "Property",
    "PropertyKind",
    "SafetyRules",
    "SecondPerson",
    "SheetRead",
    "SheetVersion",
    "SheetWithdrawn",
    "ShutOff",
    "Signal",
    "Statement",
    "Substance",
    "SupplierSheet",
    "SupplierSheetWithdrawn",
]
