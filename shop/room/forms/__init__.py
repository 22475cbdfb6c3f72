"""Forms of the room, one for each action, by topic; import from here."""

from shop.room.forms.chip import (
    ChangeChipCanForm,
    HandOverChipForm,
    StartChipCanForm,
    StoreChipForm,
    TakeBackChipForm,
)
from shop.room.forms.cylinders import (
    AddCylinderForm,
    BeginStandingTestForm,
    ChangeCylinderForm,
    ConnectCylinderForm,
    DropStandingTestForm,
    EmptyCylinderForm,
    EndStandingTestForm,
    ReturnCylinderForm,
)
from shop.room.forms.figures import ChangeGasUseForm, ChangeLimitForm
from shop.room.forms.readings import CorrectReadingForm, TakeReadingsForm

__all__ = [
    "AddCylinderForm",
    "BeginStandingTestForm",
    "ChangeChipCanForm",
    "ChangeCylinderForm",
    "ChangeGasUseForm",
    "ChangeLimitForm",
    "ConnectCylinderForm",
    "CorrectReadingForm",
    "DropStandingTestForm",
    "EmptyCylinderForm",
    "EndStandingTestForm",
    "HandOverChipForm",
    "ReturnCylinderForm",
    "StartChipCanForm",
    "StoreChipForm",
    "TakeBackChipForm",
    "TakeReadingsForm",
]
