"""Forms of suppliers' sheets: first the file, then what stands in it."""

import re
from typing import Any

from django import forms

from shop.calc import ghs
from shop.people.models import Person
from shop.press.fields import DayField
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.safety.models import Signal
from shop.safety.sheet_files import kept
from shop.safety.sheet_files.first_look import MOST_BYTES, NotTaken
from shop.safety.sheet_files.kept import KeptSheet
from shop.safety.statements import is_known
from shop.stock.models import Supplier

_MOST_MB = MOST_BYTES // (1024 * 1024)
#: The answer that a sheet gives no signal word.
NO_SIGNAL = "none"


class SupplierSheetField(forms.FileField):
    """A PDF: looked through and kept at once; cleans to a KeptSheet."""

    widget = forms.FileInput(
        attrs={"accept": ".pdf,application/pdf", "data-most-bytes": str(MOST_BYTES), "data-most": f"{_MOST_MB} MB"}
    )

    def clean(self, data: Any, initial: Any = None) -> KeptSheet:
        upload = super().clean(data, initial)
        try:
            return kept.keep(upload)
        except NotTaken as no:
            raise forms.ValidationError(str(no)) from no


class SendSupplierSheetForm(PlainForm):
    """The file alone: it is looked through before anything is asked about it."""

    file = SupplierSheetField(label="The supplier's sheet", help_text=f"A PDF of up to {_MOST_MB} MB, as it came.")
    refused = "Not taken"

    @property
    def http_status(self) -> int:
        return 422 if self.errors else 200


class CodesField(forms.CharField):
    """Codes with commas, blanks or lines between them; cleans to a list. The action knows which there are."""

    def clean(self, value: Any) -> list[str]:
        return [one for one in re.split(r"[,;\s]+", re.sub(r"\s*\+\s*", "+", super().clean(value))) if one]


class AddSupplierSheetForm(PressForm):
    """What the sheet says of itself, and what its section 2 says: copied by hand, or compared by eye.

    sheet: the file it is about. What was found in its words stands in the boxes of a fresh form, as a suggestion.
    """

    supplier_name = forms.CharField(
        label="Supplier, as section 1 names it", max_length=80, error_messages={"required": "Say whose sheet it is."}
    )
    revised_on = DayField(
        label="Date of revision",
        help_text="Of the sheet itself, in its head or in section 16; not the day it was printed.",
        error_messages={"required": "Give the date of its last revision, or of its making if it was never revised."},
    )
    language = forms.CharField(
        label="Language", max_length=12, initial="en", help_text="By its tag, such as en, de or pt-BR."
    )
    says_signal = forms.ChoiceField(
        label="Signal word",
        choices=[*Signal.choices, (NO_SIGNAL, "It gives none")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say which of the two it gives, or that it gives none."},
    )
    says_pictograms = forms.MultipleChoiceField(
        label="Pictograms",
        required=False,
        choices=[(code, f"{one.symbol.capitalize()} ({code})") for code, one in ghs.PICTOGRAMS.items()],
        widget=forms.CheckboxSelectMultiple,
    )
    says_h = CodesField(
        label="H statements", required=False, max_length=400, help_text="Their codes: H225, H319, EUH066"
    )
    says_p = CodesField(
        label="P statements",
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Their codes: P210, P303+P361+P353",
    )
    compared = forms.BooleanField(
        label="I compared every box with the sheet itself",
        error_messages={"required": "Compare what was filled in with the sheet, and say so here."},
    )
    supplier = forms.ModelChoiceField(
        Supplier.objects.filter(is_active=True), label="Among our suppliers", required=False, empty_label="None of them"
    )
    supplier_phone = forms.CharField(label="Its emergency number", max_length=40, required=False)
    note = forms.CharField(label="Note", max_length=300, required=False)

    not_typed = ("compared",)
    fieldsets = (
        ("The sheet", ("supplier_name", "revised_on", "language")),
        ("What section 2 says", ("says_signal", "says_pictograms", "says_h", "says_p", "compared")),
        ("Besides", ("supplier_phone", "supplier", "note")),
    )

    def __init__(self, data: Any = None, *, person: Person, sheet: KeptSheet, **rest: Any) -> None:
        self.sheet = sheet
        self.ticket = kept.ticket(sheet, person.pk)
        super().__init__(data, person=person, **rest)
        found = sheet.suggestion
        self.suggests = found.is_any
        if not self.suggests:
            del self.fields["compared"]
        for name in ("says_pictograms", "says_h", "says_p"):  # not if one likes: as far as the sheet gives them
            self.fields[name].is_instead = True  # type: ignore[attr-defined]
        self.two_signals = len(found.signals) > 1
        suggested: dict[str, Any] = {
            "revised_on": found.revised_on,
            "says_signal": found.signals[0] if len(found.signals) == 1 else "",
            "says_pictograms": [code for code in found.pictograms if code in ghs.PICTOGRAMS],
            "says_h": ", ".join(code for code in found.h_codes if is_known(code)),
            "says_p": ", ".join(code for code in found.p_codes if is_known(code)),
        }
        self.initial = {name: value for name, value in suggested.items() if value} | dict(self.initial)

    def typed(self) -> dict[str, Any]:
        said = super().typed()
        return {**said, "says_signal": "" if said["says_signal"] == NO_SIGNAL else said["says_signal"]}


class WithdrawSupplierSheetForm(PressForm):
    why = forms.CharField(
        label="Why it is withdrawn",
        max_length=300,
        error_messages={"required": "Say why; it is kept with the sheet."},
    )
