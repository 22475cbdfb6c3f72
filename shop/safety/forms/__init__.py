"""The forms of safety, by topic; each is named after its action."""

from shop.safety.forms.wall import KeepCallNumbersForm, KeepExtinguishersForm, KeepShutOffsForm

__all__ = [
    "KeepCallNumbersForm",
    "KeepExtinguishersForm",
    "KeepShutOffsForm",
]
