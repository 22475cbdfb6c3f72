"""Arranges the log through its actions."""

from typing import Any
from uuid import uuid4

from shop.log import actions
from shop.log.models import Crowd, Note, NoteRead
from shop.people.models import Person


def write(by: Person, text: str = "The spare hose is on its hook.", **other: Any) -> Note:
    """A note for everybody, unless said otherwise."""
    return actions.write_note(by=by, once=uuid4(), text=text, **{"crowds": [Crowd.EVERYBODY]} | other)


def read(by: Person, note: Note) -> NoteRead:
    return actions.read_note(by=by, once=uuid4(), note=note)
