"""Forms of the room, one for each action, by topic; import from here."""

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
    "ChangeCylinderForm",
    "ChangeGasUseForm",
    "ChangeLimitForm",
    "ConnectCylinderForm",
    "CorrectReadingForm",
    "DropStandingTestForm",
    "EmptyCylinderForm",
    "EndStandingTestForm",
    "ReturnCylinderForm",
    "TakeReadingsForm",
]
