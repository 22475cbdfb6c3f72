"""The room's own settings."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from shop.people import actions
from shop.people.models import Person, Room
from shop.refusal import Changed, NotAllowed, Refused

ADDRESS = "/people/room/"
TYPED = {
    "version": 1,
    "name": "Harrow Lane Cutting Room",
    "zone": "America/Chicago",
    "currency": "usd",
    "paper": "Letter",
    "pressure_unit": "psi",
    "temperature_unit": "degF",
    "liquid_unit": "gal",
    "length_unit": "in",
}
ClientOf = Callable[[Person], Client]


def test_is_kept(owner: Person, room_row: Room) -> None:
    actions.change_room(by=owner, once=uuid4(), **TYPED)
    room_row.refresh_from_db()
    assert (room_row.name, room_row.zone, room_row.currency, room_row.paper, room_row.version) == (
        "Harrow Lane Cutting Room",
        "America/Chicago",
        "USD",
        "Letter",
        2,
    )
    owner.refresh_from_db()
    assert owner.pressure_unit == "bar"  # a person's own choice stays


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"zone": "Mars/Olympus"}, "zone"),
        ({"zone": ""}, "zone"),
        ({"currency": "€"}, "currency"),
        ({"currency": "E1R"}, "currency"),
    ],
)
def test_refuses_what_is_no_zone_or_currency(owner: Person, room_row: Room, typed: dict[str, str], field: str) -> None:
    with pytest.raises(Refused) as no:
        actions.change_room(by=owner, once=uuid4(), **TYPED | typed)
    assert no.value.field == field
    room_row.refresh_from_db()
    assert room_row.version == 1


def test_only_an_owner_changes_it(engineer: Person, room_row: Room) -> None:
    with pytest.raises(NotAllowed):
        actions.change_room(by=engineer, once=uuid4(), **TYPED)


def test_a_stale_change_is_refused(owner: Person) -> None:
    actions.change_room(by=owner, once=uuid4(), **TYPED)
    with pytest.raises(Changed):
        actions.change_room(by=owner, once=uuid4(), **TYPED | {"name": "Other"})


def test_page_saves_once_however_often_it_is_pressed(owner: Person, room_row: Room, client_of: ClientOf) -> None:
    client = client_of(owner)
    assert "Europe/Lisbon" in client.get(ADDRESS).content.decode()
    typed = {"once": str(uuid4()), **TYPED}
    for _ in range(2):
        page = client.post(ADDRESS, typed, follow=True).content.decode()
        assert "Harrow Lane Cutting Room, America/Chicago" in page
    room_row.refresh_from_db()
    assert room_row.version == 2


def test_page_refuses_a_token_used_for_something_else(owner: Person, client_of: ClientOf) -> None:
    client = client_of(owner)
    typed = {"once": str(uuid4()), **TYPED}
    client.post(ADDRESS, typed)
    answer = client.post(ADDRESS, typed | {"name": "Other", "version": 2})
    assert answer.status_code == 409
    assert Room.objects.get().name == "Harrow Lane Cutting Room"


@pytest.mark.parametrize(
    "typed",
    [{"name": ""}, {"name": "x" * 81}, {"zone": "Nowhere"}, {"paper": "A0"}, {"version": "many"}, {"once": "x"}],
)
def test_page_answers_bad_input_with_a_sentence(
    owner: Person, room_row: Room, client_of: ClientOf, typed: dict[str, str]
) -> None:
    answer = client_of(owner).post(ADDRESS, {"once": str(uuid4()), **TYPED} | typed)
    assert answer.status_code == 422
    assert 'id="errors"' in answer.content.decode()
    room_row.refresh_from_db()
    assert room_row.version == 1


def test_a_zone_that_is_kept_but_not_listed_is_offered(owner: Person, client_of: ClientOf) -> None:
    Room.objects.update(zone="Etc/GMT-5")
    assert '<option value="Etc/GMT-5" selected>' in client_of(owner).get(ADDRESS).content.decode()
