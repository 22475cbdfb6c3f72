"""Correcting a reading: a new one names it, and queries see only the new one."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from shop import clock
from shop.people.models import Person
from shop.refusal import Doubtful, NotAllowed, Refused
from shop.room import actions, queries
from shop.room.models import Reading, ReadingKind
from tests.room import makers

pytestmark = pytest.mark.django_db


def correct(by: Person, reading: Reading, value: float, reason: str = "misread", sure: tuple[str, ...] = ()) -> Reading:
    return actions.correct_reading(by=by, once=uuid4(), reading=reading, value=value, reason=reason, sure=sure)


def test_a_correction_takes_the_place_of_the_one_it_names(assistant: Person, engineer: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        wrong = makers.take(assistant, room_c=26)
    with at("2025-03-03 10:00"):
        right = correct(engineer, wrong, 21, " read the wrong dial ")
    assert (right.corrects, right.at, right.by, right.note) == (wrong, wrong.at, engineer, "read the wrong dial")
    assert right.recorded_at > wrong.recorded_at
    assert queries.latest(ReadingKind.ROOM_C) == right
    assert [point.value for point in queries.course(ReadingKind.ROOM_C, wrong.at, clock.now())] == [21]
    assert Reading.objects.count() == 2


def test_the_corrected_one_is_not_what_the_new_one_is_compared_with(assistant: Person, at: Callable) -> None:
    with at("2025-03-03 08:10"):
        makers.connected_cylinder(assistant)
        wrong = makers.take_anyway(assistant, nitrogen_bar=120, room_c=20)
        assert correct(assistant, wrong, 195).cylinder == wrong.cylinder


def test_a_doubtful_correction_is_asked_about(assistant: Person) -> None:
    with pytest.raises(Doubtful, match="Did you mean 70 °F") as raised:
        correct(assistant, makers.take(assistant, room_c=21), 70)
    assert raised.value.doubts[0].field == "value"


@pytest.mark.parametrize(
    ("value", "reason", "words", "field"),
    [(40, "", "Say what was wrong", "reason"), (44, "x", "already kept", "value"), (140, "x", "0 and 100", "value")],
)
def test_what_is_refused(assistant: Person, value: float, reason: str, words: str, field: str) -> None:
    wrong = makers.take(assistant, room_rh=44)
    with pytest.raises(Refused, match=words) as raised:
        correct(assistant, wrong, value, reason)
    assert raised.value.field == field
    assert Reading.objects.count() == 1


def test_a_reading_is_corrected_once_and_the_correction_can_be_corrected(assistant: Person) -> None:
    wrong = makers.take(assistant, room_rh=44)
    right = correct(assistant, wrong, 46)
    with pytest.raises(Refused, match="corrected already"):
        correct(assistant, wrong, 47)
    assert correct(assistant, right, 48).corrects == right
    assert queries.latest(ReadingKind.ROOM_RH).value == 48


def test_the_page(assistant: Person, visitor: Person, client_of: Callable) -> None:
    wrong = makers.take(assistant, room_c=26)
    page = f"/room/readings/{wrong.pk}/correct/"
    client = client_of(assistant)
    assert b"Kept until now: 26.0" in client.get(page).content
    bad = client.post(page, {"once": str(uuid4()), "value": "damp", "reason": "<i>slip</i>"})
    assert bad.status_code == 422
    assert b"&lt;i&gt;slip" in bad.content
    typed = {"once": str(uuid4()), "value": "21,5", "reason": "<i>slip</i>"}
    assert client.post(page, typed).status_code == 302
    assert client.post(page, typed).status_code == 302
    assert Reading.objects.count() == 2
    listed = client.get("/room/readings/").content.decode()
    assert "<s>26.0" in listed
    assert "<i>slip" not in listed
    assert client.delete(page).status_code == 405
    assert Client().post(page, typed).status_code == 302
    assert client_of(visitor).post(page, typed).status_code == 403
    assert client.get("/room/readings/999/correct/").status_code == 404


def test_a_visitor_corrects_none(assistant: Person, visitor: Person) -> None:
    with pytest.raises(NotAllowed):
        correct(visitor, makers.take(assistant, room_c=26), 21)
