"""Forms of the room, one for each action, by topic; import from here."""

from shop.room.forms.cylinders import AddCylinderForm, ConnectCylinderForm, EmptyCylinderForm, ReturnCylinderForm
from shop.room.forms.figures import ChangeGasUseForm, ChangeLimitForm
from shop.room.forms.readings import CorrectReadingForm, TakeReadingsForm

__all__ = [
    "AddCylinderForm",
    "ChangeGasUseForm",
    "ChangeLimitForm",
    "ConnectCylinderForm",
    "CorrectReadingForm",
    "EmptyCylinderForm",
    "ReturnCylinderForm",
    "TakeReadingsForm",
]
