"""Forms about people and the room."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm


class SignInForm(AuthenticationForm):
    """Sign-in name and password. One answer for an unknown name, a wrong password and someone switched off."""

    error_messages = {
        "invalid_login": "That name and password do not go together. Mind small and capital letters in the password.",
        "inactive": "That name and password do not go together. Mind small and capital letters in the password.",
    }

    def __init__(self, request: Any = None, *args: Any, **rest: Any) -> None:
        super().__init__(request, *args, **rest)
        self.fields["username"].label = "Sign-in name"
        self.fields["username"].widget = forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false", "maxlength": 60}
        )
        self.fields["password"].label = "Password"
