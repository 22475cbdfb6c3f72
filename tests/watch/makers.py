"""Makers for the watch: a room whose worries the test decides, and mail that goes nowhere."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.core.mail.backends.locmem import EmailBackend

from shop import concern
from shop.concern import Concern, Grade
from shop.people.models import Person

GAS = Concern(
    key="room:gas:none",
    grade=Grade.HOLD,
    subject="Nitrogen",
    headline="No cylinder is connected",
    reason="The last one was taken off at 07:10.",
    what_to_do="Connect a full one.",
    link="/room/",
)
TALC = Concern(
    key="stock:low:item-7",
    grade=Grade.CARE,
    subject="Talc",
    headline="Talc is below the minimum",
    reason="200 g are left; the minimum is 500 g.",
    what_to_do="Order some.",
    link="/stock/",
)


class Worries(list[Concern]):
    """What the room worries about: put in and taken out by the test."""

    def __call__(self, now: datetime) -> list[Concern]:
        return list(self)

    def grade(self, key: str, grade: Grade) -> None:
        self[:] = [replace(one, grade=grade) if one.key == key else one for one in self]

    def drop(self, key: str) -> None:
        self[:] = [one for one in self if one.key != key]


@contextmanager
def only(worries: Worries) -> Iterator[Worries]:
    """Within the block these are all the worries there are."""
    before = dict(concern._questions)
    concern._questions.clear()
    concern.register("test", worries)
    try:
        yield worries
    finally:
        concern._questions.clear()
        concern._questions.update(before)


def with_address(person: Person, address: str = "") -> Person:
    person.email = address or f"{person.sign_in}@tindrum.example"
    person.save(update_fields=["email"])
    return person


class Post(EmailBackend):
    """Takes mail into django.core.mail.outbox, or refuses it with `trouble`."""

    def __init__(self, trouble: Exception | None = None, **rest: Any) -> None:
        super().__init__(**rest)
        self.trouble = trouble

    def open(self) -> bool:
        return True

    def send_messages(self, messages: Any) -> int:
        if self.trouble:
            raise self.trouble
        return int(super().send_messages(messages))
