"""Makers for containers: a solvent in stock, and opening one of it."""

from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.safety import actions
from shop.safety.models import Container, Level, Place, Property, PropertyKind, Substance
from shop.stock.models import Item
from tests.makers import anyway
from tests.safety import place_makers as places
from tests.stock.makers import make_liquid

#: kg/m3 of acetone at 20 C, as the starter content has it.
ACETONE = 790.3


def acetone(by: Person, *, density: bool = True) -> tuple[Substance, Item]:
    """Acetone with its density looked up, and the item by which it is in stock."""
    substance, item = places.substance("acetone"), make_liquid(by, "Acetone 1 l")
    substance.items.add(item)
    if density:
        for value, condition in ((784.7, "25 °C"), (ACETONE, "20 °C")):
            Property.objects.create(
                substance=substance, kind=PropertyKind.DENSITY, value=value, condition=condition, source="its handbook"
            )
    return substance, item


def open_one(by: Person, substance: Substance, place: Place, **other: Any) -> Container:
    return anyway(actions.open_container, by=by, substance=substance, place=place, **{"nominal_ml": 1000} | other)


def read_level(by: Person, container: Container, **read: Any) -> Level:
    return anyway(actions.read_level, by=by, container=container, **read)


def finish(by: Person, container: Container, how: str = "used", **other: Any) -> Container:
    return actions.finish_container(by=by, once=uuid4(), container=container, how=how, **other)
