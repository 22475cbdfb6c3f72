"""The forms of places, each named after its action."""

from datetime import timedelta
from functools import cached_property
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop import clock
from shop.people.fields import QuantityField
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import DayField, NumberField
from shop.press.forms import PressForm
from shop.press.rows import RowForm
from shop.safety.actions.places import AIR_CHANGES_H, MOST_AMOUNT, MOST_KEPT, MOST_ML, VOLUME_M3, PlaceFacts, Wanted
from shop.safety.models import Form, Kept, LimitBy, Place, Substance
from shop.safety.wording import amount_words, solid_unit


class PlaceForm(PressForm):
    """A place: where it lies, what is in it besides what is kept, its air, and the limit that was set for it."""

    name = forms.CharField(label="Name", max_length=80, help_text="As one says it: “Flammables cupboard”.")
    within = forms.ModelChoiceField(
        Place.objects.filter(is_active=True),
        label="It lies within",
        required=False,
        empty_label="No other place",
        help_text="The room of a cupboard, the cupboard of a shelf.",
    )
    closed = forms.BooleanField(
        label="Closed: its air does not change", required=False, help_text="A cupboard or a small room without a vent."
    )
    has_heat = forms.BooleanField(
        label="Something in it gets hot or burns",
        required=False,
        help_text="A heater, a soldering iron, the heated head while it cuts, a flame.",
    )
    has_spark = forms.BooleanField(
        label="Something in it may spark", required=False, help_text="A switch, a motor with brushes, static."
    )
    volume_m3 = QuantityField(
        "volume",
        label="Free volume",
        required=False,
        low=VOLUME_M3[0],
        high=VOLUME_M3[1],
        help_text="For a room: length by width by height, less what furniture takes up.",
    )
    air_changes_h = NumberField(
        label="Changes of air in an hour",
        required=False,
        low=AIR_CHANGES_H[0],
        high=AIR_CHANGES_H[1],
        help_text="As measured, or as whoever built the ventilation wrote down. Empty if nobody knows.",
    )
    limit_ml = QuantityField(
        "liquid",
        label="Most flammable liquid in it",
        required=False,
        low=0,
        high=MOST_ML,
        help_text="Everything within it counted. Whatever was set for this place; nothing is assumed.",
    )
    limit_by = forms.ChoiceField(label="Who set that", required=False, choices=[("", "Nobody yet"), *LimitBy.choices])
    limit_on = DayField(label="When it was set", required=False)
    limit_note = forms.CharField(
        label="How it is written down",
        max_length=200,
        required=False,
        help_text="The letter, the lease, the page of the policy.",
    )
    note = forms.CharField(label="Note", max_length=300, required=False)

    fieldsets = (
        ("The place", ("name", "within", "note")),
        ("What is in it besides", ("closed", "has_heat", "has_spark")),
        ("Its air, for estimates", ("volume_m3", "air_changes_h")),
        ("The limit on flammable liquid", ("limit_ml", "limit_by", "limit_on", "limit_note")),
    )

    def typed(self) -> dict[str, Any]:
        return {"facts": PlaceFacts(**super().typed())}


class AddPlaceForm(PlaceForm):
    """A place that is not written down yet."""


class ChangePlaceForm(PlaceForm, ChangeForm):
    """The place as it stands."""

    def __init__(self, data: Any = None, *, person: Person, row: Place, **rest: Any) -> None:
        super().__init__(data, person=person, row=row, **rest)
        others = Place.objects.filter(is_active=True).exclude(pk=row.pk)
        self.fields["within"].queryset = others  # type: ignore[attr-defined]

    def kept(self, row: Place) -> dict[str, Any]:
        volume = None if row.volume_l is None else row.volume_l / 1000
        return super().kept(row) | {"volume_m3": volume}

    def typed(self) -> dict[str, Any]:
        said = PressForm.typed(self)
        return {"version": said.pop("version"), "facts": PlaceFacts(**said)}


class StopPlaceForm(PressForm):
    pass


class ResumePlaceForm(PressForm):
    pass


def amount_field(substance: Substance, person: Person) -> NumberField:
    """The box for how much of a substance is kept, in the unit that is right for its form."""
    if substance.form == Form.GAS:
        return NumberField(low=0.01, high=MOST_AMOUNT / 1000, unit="l", required=False)
    kind = "liquid" if substance.form == Form.LIQUID else "mass"
    field = QuantityField(kind, low=0, high=MOST_AMOUNT, required=False)
    field.speak_to(person)
    if kind == "mass":
        field.unit = solid_unit(person)
    return field


class ChangeKeptForm(RowForm, ChangeForm):
    """A row for each thing kept in a place; a row without a substance is left out."""

    #: Where the action's refusals about all of it land.
    kept_rows = forms.Field(required=False, widget=forms.HiddenInput)

    not_typed = ("rows", "kept_rows")
    most_rows = MOST_KEPT

    def __init__(self, data: Any = None, *, person: Person, row: Place, **rest: Any) -> None:
        self.person = person
        self.before = list(row.kept.select_related("substance"))
        first: dict[str, Any] = {}
        for place, one in enumerate(self.before):
            first |= {self.box(place, name): value for name, value in self._as_typed(one).items()}
        rows = min(MOST_KEPT, len(self.before) + 1)
        super().__init__(data, person=person, row=row, rows=rows, initial=first, **rest)

    def _as_typed(self, one: Kept) -> dict[str, Any]:
        return {
            "substance": one.substance_id,
            "amount": self._shown(one),
            "empties": one.empties,
            "holds_stock": one.holds_stock,
            "note": one.note,
        }

    def _shown(self, one: Kept) -> str:
        """The amount as this person would type it, so exactly that saving it again changes nothing."""
        if one.amount is None:
            return ""
        if one.substance.form == Form.LIQUID:
            text = f"{one.amount / 1000:.10g} l" if one.amount >= 1000 else f"{one.amount} ml"
        elif one.substance.form == Form.GAS:
            text = f"{one.amount / 1000:.10g} l"
        else:
            text = f"{one.amount / 1000:.10g} kg"
        box = amount_field(one.substance, self.person)
        return text.removesuffix(f" {getattr(box, 'unit_label', box.unit)}")

    @cached_property
    def substances(self) -> dict[int, Substance]:
        """What can be chosen, by id: whatever is kept here, and what stands there already."""
        found = {one.pk: one for one in Substance.objects.filter(is_active=True)}
        return found | {one.substance_id: one.substance for one in self.before}

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        choices: list[tuple[Any, str]] = [("", "Nothing"), *((pk, one.name) for pk, one in self.substances.items())]
        return {
            "substance": forms.TypedChoiceField(
                label="What",
                choices=choices,
                coerce=lambda pk: self.substances[int(pk)],
                empty_value=None,
                required=False,
            ),
            "amount": forms.CharField(
                label="How much", required=False, max_length=40, widget=forms.TextInput(attrs={"autocomplete": "off"})
            ),
            "empties": forms.BooleanField(label="Empty cylinders", required=False),
            "holds_stock": forms.BooleanField(
                label="Its stock stands here: count what the ledger says is on hand", required=False
            ),
            "note": forms.CharField(label="Note", max_length=120, required=False),
        }

    @property
    def kept_boxes(self) -> list[dict[str, Any]]:
        """Each row for the page, worded for what is chosen in it."""
        found = []
        for place in range(self.row_count):
            boxes: dict[str, BoundField] = self.row_boxes(place)
            chosen = str(boxes["substance"].value() or "")
            one = self.substances.get(int(chosen)) if chosen.isdigit() else None
            if one is not None:
                box = amount_field(one, self.person)
                boxes["amount"].field.unit_label = getattr(box, "unit_label", box.unit)  # type: ignore[attr-defined]
                if one.form == Form.GAS:
                    boxes["amount"].field.help_text = "The water volume stamped on them, all together."
            found.append({"number": place + 1, "thing": one, "is_gas": one is None or one.form == Form.GAS, **boxes})
            found[-1]["is_liquid"] = one is not None and one.form == Form.LIQUID
        return found

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        self.wanted: list[Wanted] = []
        self.places = []
        for place in range(self.row_count):
            row = self.row_said(place)
            substance, amount = row.get("substance"), str(row.get("amount") or "").strip()
            if substance is None:
                if (amount or row.get("note")) and self.box(place, "substance") not in self.errors:
                    self.add_error(self.box(place, "substance"), "Choose what it is of.")
                continue
            try:
                read = amount_field(substance, self.person).clean(amount)
            except forms.ValidationError as wrong:
                self.add_error(self.box(place, "amount"), wrong)
                continue
            if read is not None and substance.form == Form.GAS:
                read *= 1000
            self.places.append(place)
            ticks = {name: bool(row.get(name)) for name in ("empties", "holds_stock")}
            self.wanted.append(Wanted(substance, read, note=row.get("note") or "", **ticks))
        return said

    def typed(self) -> dict[str, Any]:
        return super().typed() | {"kept": self.wanted}

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        if not isinstance(self.saved, Place):
            return []
        rows = self.saved.kept.select_related("substance")
        return [("Kept in it", "; ".join(f"{one.substance} {amount_words(one, self.person)}" for one in rows) or "–")]


class AnswerFindingForm(PressForm):
    because = forms.CharField(
        label="Why they stay",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Who looked, what was found, what keeps them apart. It is kept with your name.",
    )
    until = DayField(label="Known until", help_text="At most a year away; after it the concern comes back.")

    def __init__(self, data: Any = None, *, person: Person, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self.fields["until"].initial = clock.today() + timedelta(days=90)
