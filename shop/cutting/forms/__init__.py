"""Forms of cutting, one for each action, by topic; import from here."""

from shop.cutting.forms.bookings import (
    AddBookingForm,
    CancelBookingForm,
    ChangeBookingForm,
    FinishBookingForm,
    PlanSideForm,
    ReopenBookingForm,
)
from shop.cutting.forms.lists import (
    AddLatheForm,
    AddRejectReasonForm,
    AddStylusKindForm,
    ChangeCostFiguresForm,
    ChangeLatheForm,
    ChangeLimitsForm,
    ChangeRejectReasonForm,
    ChangeStylusKindForm,
)
from shop.cutting.forms.sides import LogSideForm, WithdrawSideForm
from shop.cutting.forms.styli import (
    AddStylusForm,
    FitStylusForm,
    LookOverStylusForm,
    ReinstateStylusForm,
    RetireStylusForm,
    TakeOffStylusForm,
)

__all__ = [
    "AddBookingForm",
    "AddLatheForm",
    "AddRejectReasonForm",
    "AddStylusForm",
    "AddStylusKindForm",
    "CancelBookingForm",
    "ChangeBookingForm",
    "ChangeCostFiguresForm",
    "ChangeLatheForm",
    "ChangeLimitsForm",
    "ChangeRejectReasonForm",
    "ChangeStylusKindForm",
    "FinishBookingForm",
    "FitStylusForm",
    "LogSideForm",
    "LookOverStylusForm",
    "PlanSideForm",
    "ReinstateStylusForm",
    "ReopenBookingForm",
    "RetireStylusForm",
    "TakeOffStylusForm",
    "WithdrawSideForm",
]
