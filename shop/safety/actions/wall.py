"""What stands on the wall: whom to call, what is shut off where, and what there is against a fire."""

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import astuple, dataclass, fields
from typing import Any

from django.db import models

from shop.people.models import ENGINEERS, Person, Room
from shop.people.queries import the_room
from shop.press.action import action
from shop.press.rules import words
from shop.refusal import Changed, Refused
from shop.safety.models import CallNumber, Extinguisher, ShutOff

#: More than so many of each no longer stand on one sheet of paper in type that is read from across the room.
MOST_NUMBERS, MOST_SHUT_OFFS, MOST_EXTINGUISHERS = 8, 8, 6
_CHANGED = "Somebody changed this while your form was open. What is kept now stands below; press again to keep yours."


@dataclass(frozen=True)
class WantedNumber:
    """Whom to call: who, the number, when."""

    name: str
    number: str
    when: str = ""


@dataclass(frozen=True)
class WantedShutOff:
    what: str
    where: str
    how: str = ""


@dataclass(frozen=True)
class WantedExtinguisher:
    kind: str
    where: str
    use_on: str = ""
    never_on: str = ""


Wanted = WantedNumber | WantedShutOff | WantedExtinguisher


def list_digest(model: type[models.Model], wanted: type[Wanted]) -> str:
    """A fingerprint of a whole list as it stands: what a form was opened at."""
    names = [field.name for field in fields(wanted)]
    rows = list(model._default_manager.order_by("order", "pk").values_list(*names))
    return hashlib.sha256(repr(rows).encode()).hexdigest()[:20]


@action(roles=ENGINEERS)
def keep_call_numbers(*, by: Person, rows: Sequence[WantedNumber], seen: str) -> Room:
    """Keep these numbers, in this order, in place of those kept so far. Raises Changed if they are not as `seen`.

    Refuses a number without a digit, and one that stands there twice.
    """
    _still_as_seen(CallNumber, WantedNumber, seen)
    for place, row in enumerate(rows):
        if not any(sign.isdigit() for sign in row.number):
            raise Refused("There is no digit in that number.", field=f"rows.{place}.number")
        if any((row.name, row.number) == (other.name, other.number) for other in rows[:place]):
            raise Refused("That stands there already.", field=f"rows.{place}.number")
    return _keep(CallNumber, rows, MOST_NUMBERS)


@action(roles=ENGINEERS)
def keep_shut_offs(*, by: Person, rows: Sequence[WantedShutOff], seen: str) -> Room:
    """Keep these shut-offs, in this order, in place of those kept so far. Raises Changed if they are not as `seen`."""
    _still_as_seen(ShutOff, WantedShutOff, seen)
    return _keep(ShutOff, rows, MOST_SHUT_OFFS)


@action(roles=ENGINEERS)
def keep_extinguishers(*, by: Person, rows: Sequence[WantedExtinguisher], seen: str) -> Room:
    """Keep these extinguishers, in this order, in place of those kept so far. Raises Changed if they are not as `seen`.

    Refuses one of which nobody says what it must not be used on: the wrong one makes a fire worse.
    """
    _still_as_seen(Extinguisher, WantedExtinguisher, seen)
    for place, row in enumerate(rows):
        if not row.never_on.strip():
            raise Refused("Say what it must not be used on; its own label does.", field=f"rows.{place}.never_on")
    return _keep(Extinguisher, rows, MOST_EXTINGUISHERS)


def _still_as_seen(model: type[models.Model], wanted: type[Wanted], seen: str) -> None:
    """The lists have no row of their own to lock: the room's is, so that two who save at once do so in turn."""
    Room.objects.select_for_update().filter(pk=the_room().pk).first()
    if list_digest(model, wanted) != seen:
        raise Changed(_CHANGED)


def _keep(model: type[models.Model], rows: Sequence[Wanted], most: int) -> Room:
    if len(rows) > most:
        raise Refused(f"At most {most} fit on the wall card; these are {len(rows)}.", field="rows")
    kept = []
    for place, row in enumerate(rows):
        checked = {}
        for field, value in zip(fields(row), astuple(row), strict=True):
            column: Any = model._meta.get_field(field.name)
            with _in_row(place):
                checked[field.name] = words(
                    value, field=field.name, longest=column.max_length or 0, needed=not column.blank
                )
        kept.append(model(order=place, **checked))
    model._default_manager.all().delete()
    model._default_manager.bulk_create(kept)
    return the_room()


@contextmanager
def _in_row(place: int) -> Iterator[None]:
    try:
        yield
    except Refused as no:
        raise Refused(no.sentence, field=f"rows.{place}.{no.field}") from no
