"""The forms by which files come in."""

from typing import Any

from django import forms

from shop.people.models import Person
from shop.press.forms import PressForm
from shop.stock.models import Intake
from shop.stock.sheets.files import MOST_BYTES, SentFile

_MOST_MB = MOST_BYTES // (1024 * 1024)


class SheetField(forms.FileField):
    """A spreadsheet; cleans to a SentFile. The browser is told how large it may be, so that it need not be sent."""

    widget = forms.FileInput(
        attrs={"accept": ".csv,.tsv,.txt,.xlsx", "data-most-bytes": str(MOST_BYTES), "data-most": f"{_MOST_MB} MB"}
    )

    def __init__(self, **rest: Any) -> None:
        super().__init__(**rest)
        self.error_messages |= {"required": "Choose a file.", "empty": "That file is empty."}

    def clean(self, data: Any, initial: Any = None) -> SentFile:
        return SentFile.of(super().clean(data, initial))


class SendSheetForm(PressForm):
    file = SheetField(label="File", help_text=f"CSV or XLSX, up to {_MOST_MB} MB.")


class AnswerSheetForm(PressForm):
    """One choice for each question that the file asks."""

    def __init__(self, data: Any = None, *, person: Person, intake: Intake, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.names = []
        for question in intake.told.get("asks", []):
            self.names.append(question["name"])
            self.fields[question["name"]] = forms.ChoiceField(
                label=question["label"],
                choices=question["choices"],
                widget=forms.RadioSelect,
                help_text=question["why"],
                error_messages={"required": "Choose one."},
            )

    def typed(self) -> dict[str, Any]:
        return {"answers": {name: self.cleaned_data[name] for name in self.names}}


class TakeInSheetForm(PressForm):
    pass


class DropSheetForm(PressForm):
    pass


class WithdrawPastUseForm(PressForm):
    pass
