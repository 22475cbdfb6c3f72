"""Forms of the room's own sheets."""

from typing import Any

from django import forms

from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.safety import facts
from shop.safety.facts import Fact
from shop.safety.models import HazardSheet, Part, SecondPerson, Substance

#: What helps where a part is written; of the others the label says it.
_HELP = {
    Part.CAN_HURT: "One fact a line; where it is from in square brackets at the end of the line.",
    Part.IF_FIRE: "For this substance alone: what puts another out stands on that one's sheet.",
    Part.IF_OTHER: "What else can go wrong here: a jam, a fall, a cut.",
}
#: About so many characters stand on a line of a box.
_WIDE = 60


def box_of(part: str) -> str:
    """The name of a part's box in the form."""
    return part.replace("-", "_")


class FactsField(forms.CharField):
    """A part of a sheet, one fact a line; cleans to a list of facts, and names the lines that cannot be read."""

    widget = forms.Textarea
    #: A draft may leave it empty, but it is not left to one's liking: approving asks for what is needed.
    is_instead = True

    def __init__(self, part: Part, text: str, **rest: Any) -> None:
        super().__init__(required=False, label=part.label, help_text=_HELP.get(part, ""), strip=False, **rest)
        lines = sum(1 + len(line) // _WIDE for line in text.splitlines())
        self.widget.attrs["rows"] = min(max(lines + 1, 3), 16)

    def to_python(self, value: Any) -> list[Fact]:  # type: ignore[override]
        try:
            return facts.read_part(super().to_python(value) or "")
        except facts.BadLines as wrong:
            raise forms.ValidationError(str(wrong)) from wrong


class WriteSheetForm(ChangeForm):
    """A draft, one box a part. It starts from what is being written, else from what was approved last."""

    title = forms.CharField(max_length=80, help_text="What it is about: a substance, or what one does.")
    note = forms.CharField(
        label="What is new in it",
        max_length=300,
        required=False,
        help_text="For those who read the version before.",
    )

    not_typed = tuple(box_of(part) for part in Part)

    def __init__(
        self, data: Any = None, *, person: Person, row: HazardSheet, start_from: dict[str, Any], **rest: Any
    ) -> None:
        self.start_from = start_from
        super().__init__(data, person=person, row=row, **rest)
        kept = self.kept(row)
        for part in Part:
            self.fields[box_of(part)] = FactsField(part, kept[box_of(part)])

    def kept(self, row: Any) -> dict[str, Any]:
        written = facts.of_stored(row.draft or self.start_from)
        boxes = {box_of(part): facts.typed_part(written.get(part, [])) for part in Part.values}
        return {"version": row.version, "title": row.title, "note": row.draft_note, **boxes}

    def typed(self) -> dict[str, Any]:
        return {**super().typed(), "parts": {part: self.cleaned_data[box_of(part)] for part in Part.values}}

    def _said(self, name: str, value: Any) -> str:
        return str(value) or "–"


class AddSheetForm(PressForm):
    title = forms.CharField(max_length=80, help_text="What it is about: a substance, or what one does.")
    slug = forms.SlugField(
        label="Word for its address",
        max_length=40,
        help_text="Short, in small letters, with hyphens: hot-tip. It stays, and duties lead to the sheet by it.",
    )
    substance = forms.ModelChoiceField(
        Substance.objects.filter(is_active=True),
        label="On which substance",
        required=False,
        empty_label="None: it is on something one does",
    )

    def __init__(self, data: Any = None, *, person: Person, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.fields["slug"].error_messages["invalid"] = "Use small letters, digits and hyphens, such as hot-tip."


class DropDraftForm(ChangeForm):
    """Nothing to type: the version it was looked at in goes along."""


class StopSheetForm(PressForm):
    """Nothing to type."""


class ResumeSheetForm(PressForm):
    """Nothing to type."""


class ApproveSheetForm(ChangeForm):
    """why_alone is asked for only where the shop's rule lets the only author approve."""

    why_alone = forms.CharField(
        label="Why nobody else could approve it",
        max_length=300,
        required=False,
        help_text="It stays with the version.",
    )

    def __init__(self, data: Any = None, *, person: Person, row: HazardSheet, is_alone: bool, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        if not is_alone:
            del self.fields["why_alone"]


class WithdrawVersionForm(PressForm):
    why = forms.CharField(
        max_length=300, widget=forms.Textarea(attrs={"rows": 2}), help_text="Everybody who opens the sheet reads it."
    )


class ConfirmSheetReadForm(PressForm):
    """Nothing to type."""


class ChangeSafetyRulesForm(ChangeForm):
    second_person = forms.ChoiceField(
        label="Who approves what somebody wrote", choices=SecondPerson.choices, widget=forms.RadioSelect
    )
    approval_months = NumberField(
        label="How long an approval holds",
        low=0,
        high=120,
        whole=True,
        unit="months",
        help_text="0: it does not run out. What was approved keeps its date.",
    )
    sheet_years = NumberField(
        label="After how long a supplier's sheet is asked for anew", low=1, high=30, whole=True, unit="years"
    )
