"""Forms about what becomes of masters."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop.cutting.actions.plating import Said, report_field
from shop.cutting.models import Master, Report
from shop.cutting.queries import waiting_masters
from shop.cutting.wording import master_words
from shop.press.fields import MomentField
from shop.press.forms import PressForm


class MasterChoice(forms.ModelMultipleChoiceField):
    widget = forms.CheckboxSelectMultiple

    def label_from_instance(self, master: Master) -> str:
        return master_words(master.side)


class MastersForm(PressForm):
    """Where none waits there is nothing to fill in: the page says so, and a press is refused with that alone."""

    masters = MasterChoice(Master.objects.none(), label="Masters")

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        field: Any = self.fields["masters"]
        named = self.data.getlist("masters") if hasattr(self.data, "getlist") else []
        field.queryset = waiting_masters(or_these=[key for key in named if key.isascii() and key.isdigit()])
        self.none_waits = not field.queryset
        if self.none_waits:
            for name in [one.name for one in self.visible_fields()]:
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        if self.none_waits:
            raise forms.ValidationError("No master waits to be sent: there is nothing to choose.")
        return super().clean() or {}


class SendMastersForm(MastersForm):
    """All that wait are ticked: most often they go together."""

    sent_to = forms.CharField(label="To whom", max_length=120)
    sent_with = forms.CharField(
        label="Sent with", max_length=120, help_text="The carrier and its number, or who takes it."
    )
    at = MomentField()
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, data: Any = None, *, person: Any, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        if not self.is_bound and not self.none_waits:
            self.fields["masters"].initial = [master.pk for master in waiting_masters()]


class KeepMastersBackForm(MastersForm):
    why = forms.CharField(label="Why they do not go", max_length=300)


class SendAfterAllForm(PressForm):
    pass


class NoteArrivalForm(PressForm):
    at = MomentField()


class ReportMastersForm(PressForm):
    """For each master of a parcel what was reported, and what was wrong."""

    at = MomentField()

    def __init__(self, data: Any = None, *, person: Any, masters: Iterable[Master], **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.masters = list(masters)
        at = self.fields.pop("at")
        for master in self.masters:
            name = report_field(master)
            self.fields[name] = forms.ChoiceField(
                label=master_words(master.side),
                choices=[("", "Nothing yet"), *Report.choices],
                widget=forms.RadioSelect,
                required=False,
                initial=master.report,
            )
            self.fields[f"{name}_wrong"] = forms.CharField(
                label="What was wrong", max_length=300, required=False, initial=master.wrong
            )
        self.fields["others_fine"] = forms.BooleanField(label="All others were fine", required=False)
        self.fields["at"] = at

    def typed(self) -> dict[str, Any]:
        said = self.cleaned_data
        otherwise = Report.FINE if said["others_fine"] else ""
        told = [
            Said(master, said[report_field(master)] or otherwise, said[f"{report_field(master)}_wrong"])
            for master in self.masters
        ]
        return {"said": told, "at": said["at"]}

    @property
    def boxes(self) -> list[tuple[BoundField, BoundField]]:
        """For each master its report, and what was wrong."""
        return [(self[report_field(one)], self[f"{report_field(one)}_wrong"]) for one in self.masters]
