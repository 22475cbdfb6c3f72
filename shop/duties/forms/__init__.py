"""The forms of duties, by topic; each is named after its action."""

from shop.duties.forms.duties import AddDutyForm, ChangeDutyForm, ResumeDutyForm, StopDutyForm
from shop.duties.forms.entries import CorrectEntryForm, DoDutyForm, NotNeededForm, PutOffDutyForm, StrikeEntryForm
from shop.duties.forms.meters import ChangeMeterForm, ResetMeterForm

__all__ = [
    "AddDutyForm",
    "ChangeDutyForm",
    "ChangeMeterForm",
    "CorrectEntryForm",
    "DoDutyForm",
    "NotNeededForm",
    "PutOffDutyForm",
    "ResetMeterForm",
    "ResumeDutyForm",
    "StopDutyForm",
    "StrikeEntryForm",
]
