"""Arranges training through its actions."""

from typing import Any
from uuid import uuid4

from shop.people.models import Person
from shop.training import actions
from shop.training.models import Act, Authority


def make_act(by: Person, name: str = "Trim the felt", **other: Any) -> Act:
    return actions.add_act(by=by, once=uuid4(), name=name, **other)


def give(owner: Person, act: Act, person: Person, **other: Any) -> Authority:
    facts = {"note": "Seen at it."} | other
    return actions.give_authority(by=owner, once=uuid4(), act=act, person=person, **facts)
