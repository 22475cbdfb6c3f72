"""Makers of what every part needs: the room, its people, a moment. Each app has its own in its test folder."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from contextvars import Context, copy_context
from datetime import datetime
from threading import Barrier
from typing import Any
from uuid import uuid4

from django.db import connections
from django.utils import timezone

from shop import clock
from shop.people.models import Person, Role, Room
from shop.refusal import Doubtful

ZONE = "Europe/Lisbon"
#: Everybody's in the cast; long enough for the real validators.
PASSWORD = "hum of the old lathe 45"


def make_room(**other: Any) -> Room:
    return Room.objects.create(**{"pk": 1, "name": "Tindrum Street Cutting Room", "zone": ZONE} | other)


def make_person(sign_in: str, name: str, role: Role, **other: Any) -> Person:
    person = Person(sign_in=sign_in, name=name, role=role, made_at=clock.now(), **other)
    person.set_password(PASSWORD)
    person.save()
    return person


def moment(text: str) -> datetime:
    """An aware moment from ISO text, in the zone now active unless it carries an offset."""
    read = datetime.fromisoformat(text)
    return timezone.make_aware(read) if timezone.is_naive(read) else read


def at(text: str) -> AbstractContextManager[None]:
    """It is that moment within the block; see `moment`."""
    return clock.moved(moment(text))


def anyway(act: Callable[..., Any], **typed: Any) -> Any:
    """Press, and press again confirming whatever the action doubts."""
    token = uuid4()
    sure: dict[str, list[str]] = {}
    while True:
        try:
            return act(once=token, **typed, **sure)
        except Doubtful as asked:  # what is confirmed may let it ask about something else
            sure = {"sure": [*sure.get("sure", []), *(doubt.key for doubt in asked.doubts)]}


def together(*calls: Callable[[], Any]) -> list[Any]:
    """Run the calls at the same moment, each on a thread and database connection of its own.

    They keep the zone and the moved clock of the caller. Gives what each returned, or the exception it raised, in
    the order of the calls. Needs a test with real transactions (`transaction=True`), or the threads see nothing of
    what it arranged.
    """
    line = Barrier(len(calls))

    def run(call: Callable[[], Any], context: Context) -> Any:
        try:
            line.wait(timeout=30)
            return context.run(call)
        except Exception as raised:  # the test looks at it
            return raised
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(calls)) as threads:
        return list(threads.map(run, calls, [copy_context() for _ in calls]))
