"""Each person reads and types in units of their own; what is stored does not change."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.template import Context, engines
from django.test import Client

from shop.people import actions
from shop.people.models import Person

US = {"pressure_unit": "psi", "temperature_unit": "degF", "liquid_unit": "gal", "length_unit": "in"}
ClientOf = Callable[[Person], Client]
ADDRESS = "/people/settings/"


def shown(person: Person, value: float | None, kind: str) -> str:
    template = engines["django"].from_string("{% quantity value kind %}")
    return template.template.render(Context({"user": person, "value": value, "kind": kind})).replace("\u00a0", " ")


def test_units_are_kept_and_spoken(visitor: Person) -> None:
    changed = actions.change_settings(by=visitor, once=uuid4(), **US)
    visitor.refresh_from_db()
    assert changed == visitor
    assert shown(visitor, 150, "pressure") == "2176 psi"
    assert shown(visitor, 21.5, "temperature") == "70.7 °F"


def test_stored_units_where_none_were_chosen(visitor: Person) -> None:
    assert shown(visitor, 150, "pressure") == "150 bar"
    assert shown(visitor, None, "pressure") == "–"


@pytest.mark.parametrize("role", ["owner", "engineer", "assistant", "visitor"])
def test_everybody_has_settings_of_their_own(role: str, request: pytest.FixtureRequest, client_of: ClientOf) -> None:
    person = request.getfixturevalue(role)
    client = client_of(person)
    page = client.get(ADDRESS)
    assert page.status_code == 200
    assert "a gauge at 2176" in page.content.decode()
    answer = client.post(ADDRESS, {"once": str(uuid4()), **US}, follow=True)
    assert answer.redirect_chain == [(ADDRESS, 302)]
    assert "Your units are saved" in answer.content.decode()
    person.refresh_from_db()
    assert {name: getattr(person, name) for name in US} == US


def test_an_unknown_unit_is_refused(visitor: Person, client_of: ClientOf) -> None:
    answer = client_of(visitor).post(ADDRESS, {"once": str(uuid4()), **US, "pressure_unit": "torr"})
    assert answer.status_code == 422
    assert "<title>Error: My settings" in answer.content.decode()
    visitor.refresh_from_db()
    assert visitor.pressure_unit == "bar"


def test_a_stranger_is_sent_to_the_door(client: Client, owner: Person) -> None:
    assert client.get(ADDRESS)["Location"] == f"/people/sign-in/?next={ADDRESS}"


def test_the_wrong_method(visitor: Person, client_of: ClientOf) -> None:
    assert client_of(visitor).put(ADDRESS).status_code == 405
    assert client_of(visitor).post("/people/more/").status_code == 405
