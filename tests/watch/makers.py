"""Makers for the watch: a room whose worries the test decides, and mail that goes nowhere."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.core.mail.backends.locmem import EmailBackend

from shop import clock, concern
from shop.concern import Concern, Grade
from shop.people.models import Person
from shop.watch.models import Alert, Delivery, Wishes

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


def wishes_to_send(count: int) -> list[Delivery]:
    """As many people as wishes to tell each of them at once of one hold; none of them is ever quiet."""
    now = clock.now()
    alert = Alert.objects.create(key=GAS.key, grade=3, subject="Gas", headline="None left", link="/", opened_at=now)
    people = Person.objects.bulk_create(
        Person(sign_in=f"p{number}", name=f"P {number}", role="engineer", made_at=now, email=f"p{number}@shop.example")
        for number in range(count)
    )
    Wishes.objects.bulk_create(Wishes(person=person, quiet_from="00:00", quiet_to="00:00") for person in people)
    return Delivery.objects.bulk_create(
        Delivery(person=person, kind="at_once", occasion="told", alert=alert, made_at=now, not_before=now)
        for person in people
    )
