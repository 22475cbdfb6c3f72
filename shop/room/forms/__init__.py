"""Forms of the room, one for each action, by topic; import from here."""

from shop.room.forms.chip import (
    ChangeChipCanForm,
    HandOverChipForm,
    StartChipCanForm,
    StoreChipForm,
    TakeBackCanForm,
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
    ExplainLossForm,
    ReturnCylinderForm,
)
from shop.room.forms.figures import ChangeGasUseForm, ChangeLimitForm
from shop.room.forms.instruments import AddInstrumentForm, ChangeInstrumentForm, RevokeInstrumentForm
from shop.room.forms.logger_files import SendLoggerFileForm, TakeInFileForm
from shop.room.forms.readings import CorrectReadingForm, TakeReadingsForm
from shop.room.forms.vacuum import ChangeLinePartForm, ChangeLineRulesForm, TakeBaselineForm

__all__ = [
    "AddCylinderForm",
    "AddInstrumentForm",
    "BeginStandingTestForm",
    "ChangeChipCanForm",
    "ChangeCylinderForm",
    "ChangeGasUseForm",
    "ChangeInstrumentForm",
    "ChangeLimitForm",
    "ChangeLinePartForm",
    "ChangeLineRulesForm",
    "ConnectCylinderForm",
    "CorrectReadingForm",
    "DropStandingTestForm",
    "EmptyCylinderForm",
    "EndStandingTestForm",
    "ExplainLossForm",
    "HandOverChipForm",
    "ReturnCylinderForm",
    "RevokeInstrumentForm",
    "SendLoggerFileForm",
    "StartChipCanForm",
    "StoreChipForm",
    "TakeBackCanForm",
    "TakeBackChipForm",
    "TakeBaselineForm",
    "TakeInFileForm",
    "TakeReadingsForm",
]
