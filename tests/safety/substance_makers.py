"""Makers for substances and what is known of them."""

from datetime import date
from typing import Any
from uuid import uuid4

from shop import clock
from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import Substance, SupplierSheet
from shop.safety.rules.substances import SubstanceFacts, WantedHazard, WantedLimit, WantedProperty, WantedStatement

FLAMMABLE = WantedHazard("flammable-liquid", "2", "H225", "its sheet")
EYES = WantedHazard("eyes", "2", "H319", "its sheet")
DROWSY = WantedHazard("target-organ-once", "3", "H336", "its sheet")
SOLVENT = (FLAMMABLE, EYES, DROWSY)


def facts(name: str = "Ether of Saltmere", **other: Any) -> SubstanceFacts:
    return SubstanceFacts(**{"name": name, "form": "liquid"} | other)


def make_substance(by: Person, name: str = "Ether of Saltmere", **other: Any) -> Substance:
    return actions.add_substance(by=by, once=uuid4(), facts=facts(name, **other))


def press(act: Any, by: Person, substance: Substance, **typed: Any) -> Substance:
    """An action on the substance as it stands now."""
    now = Substance.objects.get(pk=substance.pk)
    return act(by=by, once=uuid4(), substance=now, **{"version": now.version} | typed)


def classify(by: Person, substance: Substance, *lines: WantedHazard, why: str = "") -> Substance:
    return press(actions.classify_substance, by, substance, lines=list(lines), no_class_why=why)


def state(by: Person, substance: Substance, *lines: WantedStatement) -> Substance:
    return press(actions.change_statements, by, substance, lines=list(lines))


def measure(by: Person, substance: Substance, *lines: WantedProperty) -> Substance:
    return press(actions.change_properties, by, substance, lines=list(lines))


def limit(by: Person, substance: Substance, *lines: WantedLimit) -> Substance:
    return press(actions.change_exposure_limits, by, substance, lines=list(lines))


def make_solvent(by: Person, name: str = "Ether of Saltmere", **other: Any) -> Substance:
    """Classed as a highly flammable, irritating liquid."""
    return classify(by, make_substance(by, name, **other), *SOLVENT)


def make_sheet(by: Person, substance: Substance, revised_on: str = "2024-05-02", **says: Any) -> SupplierSheet:
    """A supplier's sheet as if it had been taken in: the row alone, without a file."""
    told = {"says_signal": "Danger", "says_pictograms": ["GHS02", "GHS07"], "says_h": ["H225", "H319", "H336"]}
    return SupplierSheet.objects.create(
        substance=substance,
        revised_on=date.fromisoformat(revised_on),
        file=uuid4().hex,
        digest=uuid4().hex * 2,
        **{
            "supplier_name": "Peverelle Workshop Supply",
            "supplier_phone": "01632 960 112",
            "called": "sheet.pdf",
            "size": 1000,
            "pages": 9,
            "at": clock.now(),
            "by": by,
        }
        | told
        | says,
    )
