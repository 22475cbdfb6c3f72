"""Forms of the door: signing in and its steps, second factor, personal code, shared devices, invitations."""

from typing import Any

from django import forms
from django.http import HttpRequest

from shop.people import codes, doors, second_factor
from shop.people.brakes import HeldUp
from shop.people.forms.own import OwnPassword, new_password_field
from shop.people.forms.people import email_field, name_field, role_field, sign_in_field
from shop.people.models import Person
from shop.people.second_factor import step_of
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.refusal import Refused


class DoorForm(PlainForm):
    """A form before or beside a sign-in: it writes no record, so it carries no one-time token.

    held: how long the next try has to wait, where there were too many.
    """

    #: What stands over its refusals: there is nothing to save here.
    refused = "Not signed in"

    def __init__(self, data: Any = None, *args: Any, request: HttpRequest, **rest: Any) -> None:
        super().__init__(data, *args, **rest)
        self.request = request
        self.held: HeldUp | None = None

    def refuse(self, no: Refused) -> None:
        self.held = no if isinstance(no, HeldUp) else None
        self.add_error(no.field if no.field in self.fields else None, no.sentence)

    @property
    def http_status(self) -> int:
        if self.held:
            return self.held.status
        return 422 if self.is_bound and self.errors else 200


class SignInForm(DoorForm):
    """Sign-in name and password. One answer for an unknown name, a wrong password and someone switched off."""

    username = forms.CharField(
        label="Sign-in name",
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}),
    )
    password = forms.CharField(
        label="Password", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )

    def __init__(self, *args: Any, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.who: Person | None = None

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if not self.errors:
            try:
                self.who = doors.try_password(self.request, typed["username"], typed["password"])
                if self.who is None:
                    self.add_error(None, doors.NOT_TOGETHER)
            except Refused as no:
                self.refuse(no)
        return typed


def code_field(label: str = "Code", hint: str = "") -> forms.CharField:
    widget = forms.TextInput(
        attrs={"autocomplete": "one-time-code", "autocapitalize": "none", "spellcheck": "false", "inputmode": "text"}
    )
    return forms.CharField(label=label, max_length=40, widget=widget, help_text=hint)


class SecondStepForm(DoorForm):
    code = code_field(hint="Six digits from the app on your phone, or one of your recovery codes.")

    def __init__(self, *args: Any, who: Person, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.who = who

    def clean_code(self) -> str:
        typed = str(self.cleaned_data["code"])
        try:
            second_factor.check(self.who, typed)
        except Refused as no:
            self.refuse(no)
        return typed


class AskAgainForm(DoorForm):
    """The password, and the second factor of those who have one, of somebody who came in by a personal code."""

    refused = "Not opened"

    password = forms.CharField(
        label="Password", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )
    code = code_field(hint="Six digits from the app on your phone, or one of your recovery codes.")

    def __init__(self, *args: Any, who: Person, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.who = who
        if not who.second_factor_at:
            del self.fields["code"]

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if not self.errors:
            try:
                doors.confirm_password(self.who, typed["password"])
                if "code" in typed:
                    second_factor.check(self.who, typed["code"])
            except Refused as no:
                self.refuse(no)
        return typed


class SwitchPersonForm(DoorForm):
    """On a shared device: the code first, then one presses one's own name."""

    refused = "Not changed"

    code = forms.CharField(
        label="Your personal code",
        max_length=40,
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
        help_text="Type it, then press your name.",
    )
    person = forms.ModelChoiceField(
        label="Who",
        queryset=Person.objects.filter(is_active=True, personal_code__isnull=False),
        widget=forms.HiddenInput,
        error_messages={
            "required": "Press your name.",
            "invalid_choice": "That person has no code here. Press your name.",
        },
    )

    def __init__(self, *args: Any, device: str, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.device = device
        if not self.is_bound:
            self.fields["code"].widget.attrs["autofocus"] = True

    def clean(self) -> dict[str, Any]:
        typed = self.cleaned_data
        if not self.errors:
            try:
                codes.check(typed["person"], typed["code"], device=self.device)
            except Refused as no:
                self.refuse(no)
        return typed


class TurnOnSecondFactorForm(OwnPassword):
    """A code of the app shows that it has the secret; then the password. `secret` is the one it was shown."""

    code = code_field("Code that the app shows", "Six digits; a new code comes every half minute.")

    field_order = ("once", "code", "old_password")
    not_typed = ("code", "old_password")

    def __init__(self, data: Any = None, *, person: Any, secret: str, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.secret, self.step = secret, 0

    def clean_code(self) -> str:
        typed = str(self.cleaned_data["code"])
        step = step_of(self.secret, typed)
        if step is None:
            raise forms.ValidationError(
                "That is not the code the app shows now. Type the newest; if it stays wrong, see that the phone's "
                "clock is right."
            )
        self.step = step
        return typed


class WithPasswordForm(OwnPassword):
    """A press that needs nothing but one's own password."""

    not_typed = ("old_password",)


class SetPersonalCodeForm(OwnPassword):
    personal_code = forms.CharField(
        label="Personal code",
        max_length=40,
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
        help_text="6 to 12 digits that are no date of yours.",
    )

    field_order = ("once", "personal_code", "old_password")
    not_typed = ("old_password",)


class NameDeviceForm(PressForm):
    name = forms.CharField(label="What you call it", max_length=60, help_text="Such as: the tablet by the lathe.")


class ConfirmForm(PressForm):
    """A press with nothing to type."""


class InvitePersonForm(PressForm):
    name = name_field()
    role = role_field()
    email = email_field()


class AcceptInvitationForm(DoorForm):
    refused = "Not done yet"

    sign_in = sign_in_field("username")
    password = new_password_field("Password")
