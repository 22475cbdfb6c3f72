"""Who may open and press which page of the morning."""

from uuid import uuid4

import pytest

from tests.morning.makers import (
    CAN,
    make_check,
)

READ = ["/", "/checks/", "/checks/{pk}/", "/checks/{pk}/paper/", "/check/latest/correct/"]
SIGN = ["/check/", "/checks/{pk}/correct/"]
DECIDE = ["/checks/{pk}/overrule/", "/questions/", "/questions/add/", "/questions/{question}/"]
PRESS_ONLY = ["/questions/{question}/move/", "/questions/{question}/switch/"]


@pytest.fixture
def where(asked, assistant):
    check = make_check(assistant, no=[CAN])

    def address(text):
        return text.format(pk=check.pk, question=asked[CAN].pk)

    return address


@pytest.mark.parametrize("address", [*READ, *SIGN, *DECIDE])
def test_a_stranger_is_sent_to_the_door(client, where, address):
    answer = client.get(where(address))
    assert answer.status_code == 302
    assert answer["Location"].startswith("/people/sign-in/")


@pytest.mark.parametrize("address", READ)
def test_a_visitor_reads(client_of, visitor, where, address):
    assert client_of(visitor).get(where(address), follow=True).status_code == 200


@pytest.mark.parametrize("address", [*SIGN, *DECIDE])
def test_a_visitor_writes_nothing(client_of, visitor, where, address):
    assert client_of(visitor).get(where(address)).status_code == 403
    assert client_of(visitor).post(where(address), {"once": str(uuid4())}).status_code == 403


@pytest.mark.parametrize("address", DECIDE)
def test_an_assistant_decides_nothing(client_of, assistant, where, address):
    assert client_of(assistant).get(where(address)).status_code == 403


@pytest.mark.parametrize("address", PRESS_ONLY)
def test_what_is_only_pressed_is_not_opened(desk, client_of, assistant, where, address):
    assert desk.get(where(address)).status_code == 405
    assert (
        client_of(assistant).post(where(address), {"once": str(uuid4()), "way": "up", "to": "off"}).status_code == 403
    )


@pytest.mark.parametrize("address", READ)
def test_what_is_only_read_is_not_posted_to(desk, where, address):
    assert desk.post(where(address)).status_code == 405


@pytest.mark.parametrize("address", [*SIGN, *DECIDE])
def test_other_ways_of_asking_are_refused(desk, where, address):
    assert desk.put(where(address)).status_code == 405


def test_a_check_that_is_not_there_is_not_found(desk, asked):
    for address in ("/checks/99999/", "/checks/99999/correct/", "/checks/99999/check.pdf", "/questions/99999/"):
        assert desk.get(address).status_code == 404


def test_buttons_one_may_not_press_are_not_shown(where, client_of, visitor, assistant, engineer):
    seen = client_of(visitor).get("/").content.decode()
    assert "Put an answer right" not in seen
    assert "Log a side" not in seen
    assert "Overrule" not in client_of(assistant).get(where("/checks/{pk}/")).content.decode()
    assert "Overrule" in client_of(engineer).get(where("/checks/{pk}/")).content.decode()


def test_no_page_calls_the_room_safe(desk, where):
    for address in [*READ, *SIGN, *DECIDE]:
        page = desk.get(where(address), follow=True).content.decode().lower()
        main = page[page.index("<main") :]
        assert "safe" not in main.replace("supplier's safety data", "").replace("suppliers' safety data", "").replace(
            "supplier&#x27;s safety data", ""
        ), address
