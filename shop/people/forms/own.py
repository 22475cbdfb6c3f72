"""What forms about one's own account have in common: the password of now, asked for with its brakes."""

from typing import Any

from django import forms

from shop.people import doors
from shop.press.forms import PressForm
from shop.press.models import Press
from shop.refusal import Refused


def new_password_field(label: str = "New password", more: str = "") -> forms.CharField:
    hint = "15 characters or more. A few words that nobody would guess are easier to type than signs."
    widget = forms.PasswordInput(attrs={"autocomplete": "new-password"})
    return forms.CharField(label=label, strip=False, widget=widget, help_text=more or hint)


class OwnPassword(PressForm):
    """A press that takes one's own password first. Misses are braked and kept, whatever becomes of the press."""

    old_password = forms.CharField(
        label="Password now",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def clean_old_password(self) -> str:
        typed = str(self.cleaned_data["old_password"])
        if not self._was_pressed():
            try:
                doors.confirm_password(self.person, typed)
            except Refused as no:
                raise forms.ValidationError(no.sentence) from no
        return typed

    def _was_pressed(self) -> bool:
        """Whether this very press went through already: its first result is given again, with no password looked at,
        for it may have been the one that changed it."""
        token: Any = self.cleaned_data.get("once")
        return token is not None and Press.objects.filter(token=token, by=self.person).exists()
