"""Forms about people, how they come in, and the room."""

from shop.people.forms.doors import (
    AcceptInvitationForm,
    AskAgainForm,
    ConfirmForm,
    InvitePersonForm,
    NameDeviceForm,
    SecondStepForm,
    SetPersonalCodeForm,
    SignInForm,
    SwitchPersonForm,
    TurnOnSecondFactorForm,
    WithPasswordForm,
)
from shop.people.forms.people import (
    AddPersonForm,
    ChangePasswordForm,
    ChangePersonForm,
    SetPasswordForm,
    SettingsForm,
    SettleSameForm,
)
from shop.people.forms.room import ChangeRoomForm, ChangeSignInRulesForm

__all__ = [
    "AcceptInvitationForm",
    "AddPersonForm",
    "AskAgainForm",
    "ChangePasswordForm",
    "ChangePersonForm",
    "ChangeRoomForm",
    "ChangeSignInRulesForm",
    "ConfirmForm",
    "InvitePersonForm",
    "NameDeviceForm",
    "SecondStepForm",
    "SetPasswordForm",
    "SetPersonalCodeForm",
    "SettingsForm",
    "SettleSameForm",
    "SignInForm",
    "SwitchPersonForm",
    "TurnOnSecondFactorForm",
    "WithPasswordForm",
]
