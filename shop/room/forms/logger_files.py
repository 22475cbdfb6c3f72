"""Forms for the file of a logger: sending it, and saying what its columns hold."""

from typing import Any

from django import forms

from shop.calc import units
from shop.people.fields import unit_for
from shop.people.queries import the_room
from shop.press.forms import PressForm
from shop.press.plain import PlainForm
from shop.room.kinds import KINDS
from shop.room.logger_files import MOST_BYTES, Chosen, Table, order_shown
from shop.room.models import Instrument
from shop.stock.sheets.files import SentFile

_MOST_MB = MOST_BYTES // (1024 * 1024)


class SendLoggerFileForm(PlainForm):
    file = forms.FileField(
        label="File",
        help_text=f"CSV, as the logger's own program writes it, up to {_MOST_MB} MB.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt"}),
    )

    def clean_file(self) -> SentFile:
        upload = self.cleaned_data["file"]
        if upload.size > MOST_BYTES:
            raise forms.ValidationError(f"It is larger than {_MOST_MB} MB. Send it in parts.")
        return SentFile.of(upload)


class TakeInFileForm(PressForm):
    """What each column holds. The file itself is named by `ticket`."""

    ticket = forms.CharField(widget=forms.HiddenInput)
    at = forms.ChoiceField(label="The moment stands in")
    clock = forms.ChoiceField(label="Its time of day, where that has a column of its own", required=False)
    order = forms.ChoiceField(
        label="How days are written",
        choices=[("year", "The year first"), ("day", "The day first, then the month"), ("month", "The month first")],
    )
    zone = forms.ChoiceField(label="Whose time it is", help_text="A moment that names its own offset keeps that.")

    def __init__(self, data: Any = None, *, person: Any, instrument: Instrument, table: Table, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.kinds = instrument.reads
        columns = [(str(n), heading) for n, heading in enumerate(table.headings)]
        none = [("", "Not in the file")]
        self.fields["at"].choices = columns  # type: ignore[attr-defined]
        self.fields["clock"].choices = [("", "It stands beside the day"), *columns]  # type: ignore[attr-defined]
        self.fields["order"].initial = order_shown(table, 0) or None
        zone = the_room().zone
        self.fields["zone"].choices = [(zone, f"The room's, {zone}"), ("UTC", "UTC")]  # type: ignore[attr-defined]
        for place, kind in enumerate(self.kinds, 1):
            about = KINDS[kind]
            self.fields[str(kind)] = forms.ChoiceField(
                label=about.name,
                choices=[*none, *columns],
                required=False,
                initial=str(place) if place < len(columns) else "",
            )
            self.fields[f"{kind}_unit"] = forms.ChoiceField(
                label=f"{about.name} is written in",
                choices=[(key, unit.label) for key, unit in units.UNITS[about.quantity].items()],
                initial=unit_for(about.quantity, person),
            )

    def clean(self) -> dict[str, Any]:
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if not any(cleaned.get(str(kind)) for kind in self.kinds):
            self.add_error(str(self.kinds[0]), "Say which column holds a reading.")
        taken = {cleaned.get(name): "the moment" for name in ("at", "clock") if cleaned.get(name)}
        for kind in self.kinds:
            column = cleaned.get(str(kind))
            if not column:
                continue
            if column in taken:
                self.add_error(str(kind), f"That column holds {taken[column]} already. Choose another one.")
            taken.setdefault(column, KINDS[kind].short)
        return cleaned

    def typed(self) -> dict[str, Any]:
        told = self.cleaned_data
        chosen = Chosen(
            at=int(told["at"]),
            clock=int(told["clock"]) if told["clock"] else None,
            order=told["order"],
            zone=told["zone"],
            kinds={kind: (int(told[str(kind)]), told[f"{kind}_unit"]) for kind in self.kinds if told[str(kind)]},
        )
        return {"ticket": told["ticket"], "chosen": chosen}
