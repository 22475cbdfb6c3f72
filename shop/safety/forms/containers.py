"""Forms of containers."""

from typing import Any

from django import forms

from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.fields import DayField, MomentField, NumberField
from shop.press.forms import PressForm
from shop.safety import queries
from shop.safety.actions.containers import MOST_G, MOST_ML, MOST_OPEN_DAYS
from shop.safety.models import Container, EndKind, Form, OpenLimit, Place, Substance
from shop.stock.amounts import in_words
from shop.stock.models import Lot


def _weight(label: str, help_text: str) -> QuantityField:
    return QuantityField("mass", label=label, help_text=help_text, low=0, high=MOST_G, required=False)


def _places() -> Any:
    return Place.objects.filter(is_active=True)


class OpenContainerForm(PressForm):
    lot = forms.TypedChoiceField(label="From", required=False, empty_value=None)
    substance = forms.ModelChoiceField(
        Substance.objects.filter(is_active=True, form=Form.LIQUID),
        label="What is in it",
        required=False,
        empty_label="What the lot is of",
    )
    nominal_ml = QuantityField(
        "liquid",
        label="It holds",
        low=1,
        high=MOST_ML,
        help_text="Where it is from a lot, all of it is taken off the shelf now; what is poured from it is not.",
    )
    place = forms.ModelChoiceField(Place.objects.none(), label="Where it stands", empty_label="Choose a place")
    use_by = DayField(label="Use by, where its own label says so", required=False)
    full_g = _weight("Weight now, full, with its cap", "Then its level can be read by weight.")
    tare_g = _weight("Or its weight empty", "Where the same container was weighed empty before.")
    at = MomentField()
    note = forms.CharField(label="Note", max_length=200, required=False)

    fieldsets = (
        ("", ("lot", "substance", "nominal_ml", "place")),
        ("By weight, if you like", ("full_g", "tare_g")),
        ("", ("use_by", "at", "note")),
    )

    def __init__(self, data: Any = None, *, person: Person, substance: str = "", **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.lots = {str(lot.pk): lot for lot in queries.lots_to_open()}
        named = {
            str(lot.pk): f"Lot {lot.code}, {lot.item}: {in_words(lot.on_hand, lot.item, person)}"
            for lot in self.lots.values()
        }
        lots: Any = self.fields["lot"]
        lots.is_instead = self.fields["substance"].is_instead = True  # type: ignore[attr-defined]
        lots.choices = [("", "Not from stock"), *named.items()]
        lots.coerce = self._lot
        self.fields["place"].queryset = _places()  # type: ignore[attr-defined]
        if substance:
            chosen = Substance.objects.filter(slug=substance).first()
            self.initial.update({"substance": chosen.pk} if chosen else {})
            mine = [key for key, lot in self.lots.items() if chosen and chosen.items.filter(pk=lot.item_id).exists()]
            self.initial.update({"lot": mine[0]} if mine else {})

    def _lot(self, key: str) -> Lot | None:
        return self.lots.get(key)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("substance") is None and "substance" not in self.errors:
            lot = said.get("lot")
            of_lot = list(lot.item.substances.filter(is_active=True)[:2]) if lot is not None else []
            if len(of_lot) == 1:
                said["substance"] = of_lot[0]
            else:
                self.add_error("substance", "Choose what is in it.")
        return said


class ReadLevelForm(PressForm):
    """By weight where it was weighed empty, else by its mark."""

    gross_g = _weight("It weighs, with its cap", "")
    share_percent = NumberField(
        label="Or how full it is, by its mark", unit="%", low=0, high=100, required=False, help_text="Half full is 50."
    )
    at = MomentField()
    note = forms.CharField(label="Note", max_length=200, required=False)

    not_typed = ("share_percent",)

    def __init__(self, data: Any = None, *, person: Person, container: Container, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        if container.tare_g is None:
            del self.fields["gross_g"]
            self.fields["share_percent"].label = "How full it is, by its mark"
            self.fields["share_percent"].required = True
        else:
            box: Any = self.fields["gross_g"]
            box.help_text = f"Empty it weighs {box.shown(container.tare_g)}."

    def field_of(self, name: str | None) -> str | None:
        return "share_percent" if name == "share" else super().field_of(name)

    def typed(self) -> dict[str, Any]:
        share = self.cleaned_data["share_percent"]
        return super().typed() | {"share": None if share is None else share / 100}


class MoveContainerForm(PressForm):
    place = forms.ModelChoiceField(Place.objects.none(), label="Where it stands now", empty_label="Choose a place")

    def __init__(self, data: Any = None, *, person: Person, container: Container, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.fields["place"].queryset = _places().exclude(pk=container.place_id)  # type: ignore[attr-defined]


class FinishContainerForm(PressForm):
    how = forms.ChoiceField(
        label="What became of it",
        choices=EndKind.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say what became of it."},
    )
    note = forms.CharField(
        label="A word on it", max_length=200, required=False, help_text="For waste: which can, or who took it."
    )
    at = MomentField()


class SetOpenDaysForm(PressForm):
    days = NumberField(
        label="Used within, after opening",
        unit="days",
        low=1,
        high=MOST_OPEN_DAYS,
        whole=True,
        required=False,
        help_text="The shop's own limit, or what its supplier says; empty for none.",
    )
    because = forms.CharField(label="Where that is from", max_length=200, required=False)
    version = forms.IntegerField(widget=forms.HiddenInput, min_value=0, required=False)

    def __init__(self, data: Any = None, *, person: Person, limit: OpenLimit | None, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.initial["version"] = limit.version if limit else 0
        if limit:
            self.initial.update({"days": limit.days, "because": limit.because})

    def typed(self) -> dict[str, Any]:
        return super().typed() | {"version": self.cleaned_data["version"] or 0}
