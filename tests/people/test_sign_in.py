"""The door: signing in and out."""

from collections.abc import Callable

import pytest
from django.test import Client

from shop.people.models import Person
from tests.makers import PASSWORD

ADDRESS = "/people/sign-in/"
ClientOf = Callable[[Person], Client]


def press(client: Client, name: str, password: str, **more: str) -> tuple[int, str]:
    answer = client.post(ADDRESS, {"username": name, "password": password, **more})
    return answer.status_code, answer.headers.get("Location", "") or answer.content.decode()


def test_lets_in_with_name_and_password(client: Client, assistant: Person) -> None:
    assert press(client, "pellow", PASSWORD) == (302, "/")
    assert client.get("/people/settings/").status_code == 200


def test_the_name_may_be_capitalised_otherwise(client: Client, assistant: Person) -> None:
    assert press(client, "Pellow", PASSWORD) == (302, "/")


def test_leads_on_to_where_one_was_going_but_to_no_other_host(client: Client, assistant: Person) -> None:
    assert press(client, "pellow", PASSWORD, next="/people/settings/") == (302, "/people/settings/")
    client.logout()
    assert press(client, "pellow", PASSWORD, next="https://elsewhere.example/") == (302, "/")


def test_answers_the_same_to_a_wrong_password_an_unknown_name_and_one_switched_off(
    client: Client, assistant: Person, visitor: Person
) -> None:
    visitor.is_active = False
    visitor.save()
    sentence = "That name and password do not go together."
    assert "Not signed in</h2>" in press(client, "pellow", "wrong")[1]
    for name, password in (("pellow", "not it at all, no"), ("nobody", PASSWORD), ("quandry", PASSWORD)):
        status, page = press(client, name, password)
        assert status == 422
        assert sentence in page
        assert "<title>Error: Sign in" in page
        assert f'value="{name}"' in page  # what was typed stays
        assert password not in page  # but not the password


@pytest.mark.parametrize(("name", "password"), [("", ""), ("pellow", ""), ("<b>x</b>", "x" * 5000), ("a\x00b", "c")])
def test_bad_input_is_answered_with_a_sentence(client: Client, assistant: Person, name: str, password: str) -> None:
    status, page = press(client, name, password)
    assert status == 422
    assert 'id="errors"' in page
    assert "<b>x</b>" not in page


def test_signing_out_takes_a_press(assistant: Person, client_of: ClientOf) -> None:
    client = client_of(assistant)
    looked = client.get("/people/sign-out/")
    assert looked.status_code == 405
    assert looked["Allow"] == "POST, OPTIONS"
    assert "press again" in looked.content.decode()
    assert client.get("/people/settings/").status_code == 200
    assert client.post("/people/sign-out/")["Location"] == ADDRESS
    assert client.get("/people/settings/").status_code == 302


def test_a_stranger_may_press_sign_out(client: Client, owner: Person) -> None:
    assert client.post("/people/sign-out/")["Location"] == ADDRESS


def test_who_is_in_is_not_asked_again(assistant: Person, client_of: ClientOf) -> None:
    assert client_of(assistant).get(ADDRESS)["Location"] == "/"


def test_pages_stay_out_of_shared_caches(assistant: Person, client_of: ClientOf) -> None:
    assert client_of(assistant).get("/people/settings/")["Cache-Control"] == "no-store"


def test_the_press_needs_the_browsers_token(assistant: Person) -> None:
    answer = Client(enforce_csrf_checks=True).post(ADDRESS, {"username": "pellow", "password": PASSWORD})
    assert answer.status_code == 403
    page = answer.content.decode()
    assert "Nothing was saved." in page
    # what was typed is on the device only if a script put it there
    assert "<p data-kept hidden>What you typed is kept on this device" in page
    assert "<noscript><p>Without scripts nothing of it is kept here." in page
