"""What may be tried on the page of estimates."""

from collections.abc import Mapping
from typing import Any

from django import forms

from shop.calc.air import SOLVENTS
from shop.people.fields import LitresField, QuantityField
from shop.people.models import Person, Units
from shop.press.fields import NumberField
from shop.press.plain import PlainForm
from shop.safety.actions.places import AIR_CHANGES_H, VOLUME_M3
from shop.safety.models import Place
from shop.safety.what_if import Asked
from shop.safety.wording import small_unit

#: What is taken where a box is left empty. Examples, nobody's figures.
EXAMPLE: dict[str, Any] = {
    "water_l": 50.0,
    "gauge_bar": 200.0,
    "celsius": 20.0,
    "leak_l_min": 5.0,
    "solvent": "acetone",
    "wipe_ml": 5.0,
    "wipes": 8,
    "spill_ml": 250.0,
    "mixing": 1.0,
}
_NAMES = {"acetone": "Acetone", "propan-2-ol": "Propan-2-ol (isopropyl alcohol)"}


def of_a_cylinder(data: Mapping[str, Any]) -> dict[str, str]:
    """The figures of a cylinder whose page led here, for which no room is chosen yet; empty for what a form sent."""
    if data.get("from") != "cylinder":
        return {}
    return {name: str(data[name])[:40] for name in ("water_l", "gauge_bar", "celsius") if name in data}


class SmallLiquidField(QuantityField):
    """An amount as small as a wipe takes: millilitres, or fluid ounces for who reads US units."""

    def __init__(self, **rest: Any) -> None:
        super().__init__("liquid", **rest)

    def speak_to(self, person: Units) -> None:
        self.unit = small_unit(person)


class WhatIfForm(PlainForm):
    """Figures to try: nothing is written, so it is sent by GET and may be kept as a link. Empty boxes take an example.

    `asked` is what they come to, once it is valid. start: figures to begin with in place of the examples.
    """

    place = forms.ModelChoiceField(
        Place.objects.filter(is_active=True, volume_l__gt=0),
        label="Place",
        required=False,
        empty_label="Another room, typed below",
    )
    volume_m3 = QuantityField(
        "volume",
        label="Free volume",
        required=False,
        low=VOLUME_M3[0],
        high=VOLUME_M3[1],
        help_text="Furniture taken out. Empty for the place's.",
    )
    air_changes_h = NumberField(
        label="Changes of air in an hour",
        required=False,
        low=AIR_CHANGES_H[0],
        high=AIR_CHANGES_H[1],
        help_text="Empty for the place's, or where nobody knows: then it is taken as closed.",
    )
    mixing = NumberField(
        label="How well the air mixes",
        required=False,
        low=0.05,
        high=1,
        help_text="1 takes it as perfect. Smaller is more cautious: it lets only that share of the fresh air count.",
    )
    water_l = LitresField(label="Water volume of the cylinder", required=False, low=0.1, high=1000)
    gauge_bar = QuantityField("pressure", label="Its gauge", required=False, low=0, high=400)
    celsius = QuantityField("temperature", label="Temperature", required=False, low=-10, high=50)
    leak_l_min = QuantityField("gas_flow", label="Leak", required=False, low=0, high=2000)
    solvent = forms.ChoiceField(label="Solvent", required=False, choices=[(name, _NAMES[name]) for name in SOLVENTS])
    wipe_ml = SmallLiquidField(label="One wipe takes", required=False, low=0, high=1000)
    wipes = NumberField(label="Wipes in eight hours", required=False, low=1, high=500, whole=True)
    spill_ml = SmallLiquidField(label="Spill", required=False, low=0, high=20_000)

    fieldsets = (
        ("The room", ("place", "volume_m3", "air_changes_h", "mixing", "celsius")),
        ("Nitrogen", ("water_l", "gauge_bar", "leak_l_min")),
        ("Solvent", ("solvent", "wipe_ml", "wipes", "spill_ml")),
    )

    def __init__(
        self, data: Any = None, *, person: Person, start: Mapping[str, Any] | None = None, **rest: Any
    ) -> None:
        super().__init__(data, initial={**EXAMPLE, **(start or {})}, **rest)
        for name, field in self.fields.items():
            if hasattr(field, "speak_to"):
                field.speak_to(person)
            if isinstance(field, NumberField) and not field.help_text:
                field.help_text = f"Empty for {field.said(EXAMPLE[name])}."

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        place = said.get("place")
        volume, changes = said.get("volume_m3"), said.get("air_changes_h")
        if volume is None and place is not None:
            volume = place.volume_l / 1000
        if volume is None and not self.errors:
            self.add_error("volume_m3", "Choose a place whose volume is written down, or type a volume.")
        if changes is None and place is not None:
            changes = 0.0 if place.closed else place.air_changes_h
        #: Whether nobody said how often the air changes, so that it is taken as closed.
        self.is_air_unknown = changes is None
        if self.errors or volume is None:
            return said
        others = {name: said[name] if said.get(name) not in (None, "") else EXAMPLE[name] for name in EXAMPLE}
        self.asked = Asked(room_m3=volume, **others | {"air_changes_h": changes or 0.0})
        return said
