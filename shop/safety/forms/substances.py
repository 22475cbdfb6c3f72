"""Forms of a substance: what it is, and the rows of what is known of it."""

from functools import cache
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop.calc import apart, ghs
from shop.people.models import Person
from shop.press.changing import ChangeForm
from shop.press.fields import NumberField
from shop.press.forms import PressForm
from shop.press.rows import RowForm
from shop.safety.figures import box_of, figure_words, typed_back
from shop.safety.models import Form, LimitKind, PropertyKind, Substance
from shop.safety.rules.substances import (
    MOST_LINES,
    SubstanceFacts,
    WantedHazard,
    WantedLimit,
    WantedProperty,
    WantedStatement,
)
from shop.safety.wording import hazard_words
from shop.stock.models import Item, Supplier

_AREA = {"rows": 2}


class SubstanceForm(PressForm):
    """What it is and what it is for."""

    name = forms.CharField(label="What it is called here", max_length=80)
    other_names = forms.CharField(label="Other names", max_length=200, required=False)
    what_for = forms.CharField(label="What it is used for here", max_length=200, required=False)
    # not "form": a box of that name would hide what a script asks a form's element for
    state = forms.ChoiceField(
        label="At room temperature it is", choices=Form.choices, widget=forms.RadioSelect, initial=Form.LIQUID
    )
    cas = forms.CharField(
        label="CAS number", max_length=12, required=False, help_text="From section 1 or 3 of the supplier's sheet."
    )
    un_number = forms.CharField(
        label="UN number", max_length=8, required=False, help_text="From its section 14; empty where it gives none."
    )
    un_name = forms.CharField(label="Proper shipping name", max_length=120, required=False)
    supplier = forms.ModelChoiceField(
        Supplier.objects.none(), label="Who supplies it", required=False, empty_label="Not entered"
    )
    items = forms.ModelMultipleChoiceField(
        Item.objects.none(),
        label="What on the shelf is or holds it",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    groups = forms.MultipleChoiceField(
        label="For what may stand beside it, it is",
        choices=list(apart.GROUPS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    fire_use = forms.CharField(
        label="What puts it out",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs=_AREA),
        help_text="This substance's own, from section 5 of its supplier's sheet. It is never mixed with another's.",
    )
    fire_never = forms.CharField(
        label="What must never be used on it",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs=_AREA),
    )
    fire_source = forms.CharField(label="Where that is from", max_length=200, required=False)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=forms.Textarea(attrs=_AREA))

    fieldsets = (
        ("", ("name", "other_names", "what_for", "state")),
        ("By its supplier's sheet", ("cas", "un_number", "un_name", "supplier")),
        ("If it burns", ("fire_use", "fire_never", "fire_source")),
        ("In this room", ("items", "groups", "note")),
    )

    def __init__(self, data: Any = None, *, person: Person, **rest: Any) -> None:
        super().__init__(data, person=person, **rest)
        self._offer("supplier", Supplier, self.kept_supplier())
        self._offer("items", Item, self.kept_items())

    def _offer(self, name: str, model: Any, kept: list[int]) -> None:
        """What is kept now, and what the substance names already."""
        listed = model.objects.filter(is_active=True) | model.objects.filter(pk__in=kept)
        self.fields[name].queryset = listed.order_by("name")  # type: ignore[attr-defined]

    def kept_supplier(self) -> list[int]:
        return []

    def kept_items(self) -> list[int]:
        return []

    def typed(self) -> dict[str, Any]:
        said = {name: value for name, value in super().typed().items() if name not in ("version", "state")}
        told = {"form": self.cleaned_data["state"], "items": tuple(said["items"]), "groups": tuple(said["groups"])}
        return {"facts": SubstanceFacts(**said | told)}

    def field_of(self, name: str | None) -> str | None:
        return super().field_of("state" if name == "form" else name)


class AddSubstanceForm(SubstanceForm):
    pass


class ChangeSubstanceForm(SubstanceForm, ChangeForm):
    """The substance as it stands."""

    def __init__(self, data: Any = None, *, person: Person, row: Substance, **rest: Any) -> None:
        self.row = row
        self.items_kept = [item.pk for item in row.items.all()]
        super().__init__(data, person=person, row=row, **rest)

    def kept_supplier(self) -> list[int]:
        return [self.row.supplier_id] if self.row.supplier_id else []

    def kept_items(self) -> list[int]:
        return self.items_kept

    def kept(self, row: Substance) -> dict[str, Any]:
        told = super().kept(row) | {"state": row.form}
        told["items"] = self.items_kept if row is self.row else [item.pk for item in row.items.all()]
        return told

    def _said(self, name: str, value: Any) -> str:
        if name == "state":
            return Form(value).label
        if name == "groups":
            return ", ".join(apart.GROUPS.get(group, group) for group in value) or "–"
        if name == "items":
            return ", ".join(item.name for item in self.saved.items.all()) or "–"
        return super()._said(name, value)

    def typed(self) -> dict[str, Any]:
        return super().typed() | {"version": self.cleaned_data["version"]}


# The rows of what is known --------------------------------------------------------------------------------------------


class LinesForm(RowForm, ChangeForm):
    """Rows of one kind about a substance; what they hold starts from it. A row whose `lead` box is empty is left out.

    lead: the boxes of which one must be filled; asks: those that are shown only where they are opened.
    """

    #: Where the action's refusals about the lines as a whole land.
    lines = forms.Field(required=False, widget=forms.HiddenInput)

    not_typed = ("rows", "lines")
    most_rows = MOST_LINES
    lead: tuple[str, ...] = ()
    asks: tuple[str, ...] = ("source", "from_memory")

    def __init__(self, data: Any = None, *, person: Person, row: Substance, **rest: Any) -> None:
        self.person = person
        kept = self.kept_lines(row)
        first = {self.box(place, name): value for place, line in enumerate(kept) for name, value in line.items()}
        rows = min(self.most_rows, len(kept) + 2)
        super().__init__(data, person=person, row=row, rows=rows, initial=first, **rest)

    def kept_lines(self, row: Substance) -> list[dict[str, Any]]:
        """The boxes of each line that the substance has."""
        raise NotImplementedError

    def line(self, said: dict[str, Any]) -> Any:
        """The line that a filled row makes, for the action."""
        raise NotImplementedError

    def line_words(self, row: Substance) -> list[str]:
        """The lines that the substance has, in words, for where it was changed meanwhile."""
        raise NotImplementedError

    @property
    def line_rows(self) -> list[dict[str, Any]]:
        """Each row for the page: its number, the boxes it shows, and those it shows where they are opened."""
        found = []
        for place in range(self.row_count):
            boxes = self.row_boxes(place)
            asks: list[BoundField] = [boxes.pop(name) for name in self.asks]
            is_open = any(box.errors for box in asks)
            found.append({"number": place + 1, "boxes": list(boxes.values()), "asks": asks, "open": is_open})
        return found

    def typed(self) -> dict[str, Any]:
        said = [self.row_said(place) for place in range(self.row_count)]
        filled = [any(row[name] not in (None, "") for name in self.lead) for row in said]
        self.places = [place for place, is_filled in enumerate(filled) if is_filled]
        return super().typed() | {"lines": [self.line(said[place]) for place in self.places]}

    @property
    def saved_facts(self) -> list[tuple[str, str]]:
        if self.saved is None:
            return []
        return [*super().saved_facts, ("Its lines", "; ".join(self.line_words(self.saved)) or "none")]


def _source(*, needed: bool = False) -> dict[str, forms.Field]:
    hint = "Always, for sources differ." if needed else "The supplier's sheet, a table, a card."
    return {
        "source": forms.CharField(label="Where it is from", max_length=200, required=False, help_text=hint),
        "from_memory": forms.BooleanField(label="Nobody looked it up yet", required=False),
    }


_KINDS = {"physical": "Physical", "health": "Health", "environment": "Environment"}


@cache
def _hazards() -> list[Any]:
    """Every line that a classification can have, for a list to choose from, by kind and H statement."""
    groups: dict[str, list[tuple[str, str]]] = {kind: [] for kind in _KINDS}
    for one in ghs.CLASSES.values():
        for each in one.categories:
            groups[one.kind] += [
                (f"{one.slug}|{each.name}|{code}", f"{code} {hazard_words(one.slug, each.name)}")
                for code in each.h_codes
            ]
    listed = [(_KINDS[kind], sorted(found, key=lambda choice: choice[1])) for kind, found in groups.items()]
    return [("", "Nothing"), *listed]


class ClassifySubstanceForm(LinesForm):
    """Its hazard classes, or why it is given none."""

    no_class_why = forms.CharField(
        label="Or why it is given no hazard class here",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs=_AREA),
        help_text="Such as: who decides it, and that it is not decided yet.",
    )
    lead = ("hazard",)

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        hazard = forms.ChoiceField(label="Hazard class and category", choices=_hazards(), required=False)
        return {"hazard": hazard, **_source()}

    def kept_lines(self, row: Substance) -> list[dict[str, Any]]:
        return [
            {
                "hazard": f"{one.hazard_class}|{one.category}|{one.h_code}",
                "source": one.source,
                "from_memory": one.from_memory,
            }
            for one in row.hazards.all()
        ]

    def line(self, said: dict[str, Any]) -> WantedHazard:
        hazard_class, category, code = said["hazard"].split("|")
        return WantedHazard(hazard_class, category, code, said["source"], said["from_memory"])

    def line_words(self, row: Substance) -> list[str]:
        return [f"{one.h_code} {hazard_words(one.hazard_class, one.category)}" for one in row.hazards.all()]


class ChangeStatementsForm(LinesForm):
    """Its P and EUH statements."""

    lead = ("code", "fill")

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        code = forms.CharField(label="Code", max_length=24, required=False, widget=forms.TextInput(attrs=_NO_HELP))
        return {
            "code": code,
            "fill": forms.CharField(label="What fills its gap", max_length=120, required=False),
            **_source(),
        }

    def kept_lines(self, row: Substance) -> list[dict[str, Any]]:
        return [_values(one, "code", "fill", "source", "from_memory") for one in row.statements.all()]

    def line(self, said: dict[str, Any]) -> WantedStatement:
        return WantedStatement(**said)

    def line_words(self, row: Substance) -> list[str]:
        return [f"{one.code}{f' ({one.fill})' if one.fill else ''}" for one in row.statements.all()]


_NO_HELP = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}


class ChangePropertiesForm(LinesForm):
    """Its physical data; a figure is read in the person's unit once it is known what it is of."""

    lead = ("value", "high")
    asks = ("condition", "source", "from_memory")

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        return {
            "kind": forms.ChoiceField(label="What", choices=[("", "Nothing"), *PropertyKind.choices], required=False),
            "value": forms.CharField(label="Figure, or from", max_length=20, required=False),
            "high": forms.CharField(label="To, for a range", max_length=20, required=False),
            "condition": forms.CharField(
                label="Under which condition", max_length=80, required=False, help_text="Closed cup; at 20 °C."
            ),
            **_source(needed=True),
        }

    def kept_lines(self, row: Substance) -> list[dict[str, Any]]:
        return [
            {
                **_values(one, "kind", "condition", "source", "from_memory"),
                "value": typed_back(one.kind, one.value, self.person),
                "high": typed_back(one.kind, one.high, self.person),
            }
            for one in row.properties.all()
        ]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        self._unchanged = self._kept_figures()
        for place in range(self.row_count):
            typed = {name: said.get(self.box(place, name)) for name in ("kind", "value", "high")}
            if not typed["value"] and not typed["high"]:
                continue
            if not typed["kind"]:
                self.add_error(self.box(place, "kind"), "Choose what this is the figure of.")
                continue
            if not typed["value"]:
                self.add_error(self.box(place, "value"), "Give the figure, or the lower end of the range.")
            for name in ("value", "high"):
                self._read(said, place, name, str(typed["kind"]))
        return said

    def _kept_figures(self) -> dict[tuple[str, str], float]:
        """What is kept, by how it is shown: a figure that nobody touched is not rounded by being sent back."""
        figures = [(one.kind, end) for one in self.row.properties.all() for end in (one.value, one.high)]
        return {(kind, typed_back(kind, end, self.person)): end for kind, end in figures if end is not None}

    def _read(self, said: dict[str, Any], place: int, name: str, kind: str) -> None:
        box = self.box(place, name)
        typed = said.get(box) or ""
        if (kind, typed) in self._unchanged:
            said[box] = self._unchanged[kind, typed]
            return
        try:
            said[box] = box_of(kind, self.person).clean(typed)
        except forms.ValidationError as wrong:
            self.add_error(box, wrong)

    def line(self, said: dict[str, Any]) -> WantedProperty:
        return WantedProperty(**said)

    def line_words(self, row: Substance) -> list[str]:
        return [f"{one.get_kind_display()}: {figure_words(one, self.person)}" for one in row.properties.all()]


class ChangeExposureLimitsForm(LinesForm):
    """What bodies say of how much of it may be in the air breathed."""

    lead = ("body", "ppm", "mg_m3")
    asks = ("edition", "in_force", "source", "from_memory")

    def row_fields(self, place: int) -> dict[str, forms.Field]:
        return {
            "body": forms.CharField(label="Who set it", max_length=60, required=False),
            "kind": forms.ChoiceField(label="Over which time", choices=LimitKind.choices, required=False),
            "ppm": NumberField(label="ppm", low=0, high=1_000_000, unit="ppm", required=False),
            "mg_m3": NumberField(label="mg/m³", low=0, high=1_000_000, unit="mg/m³", required=False),
            "edition": forms.CharField(label="Edition and date", max_length=120, required=False),
            "in_force": forms.BooleanField(label="It is in force", required=False, initial=True),
            **_source(needed=True),
        }

    def kept_lines(self, row: Substance) -> list[dict[str, Any]]:
        boxes = ("body", "kind", "ppm", "mg_m3", "edition", "in_force", "source", "from_memory")
        return [_values(one, *boxes) for one in row.limits.all()]

    def line(self, said: dict[str, Any]) -> WantedLimit:
        return WantedLimit(**said)

    def line_words(self, row: Substance) -> list[str]:
        return [f"{one.body} {one.get_kind_display()}" for one in row.limits.all()]


def _values(one: Any, *names: str) -> dict[str, Any]:
    return {name: getattr(one, name) for name in names}


class StopSubstanceForm(PressForm):
    pass


class ResumeSubstanceForm(PressForm):
    pass
