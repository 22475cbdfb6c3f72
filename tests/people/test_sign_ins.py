"""Where one is signed in: listed, ended one by one or all others, and over by themselves."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.people import actions, doors
from shop.people.models import SignIn
from shop.press.models import Line, Press
from shop.refusal import Refused
from tests.makers import PASSWORD, moment
from tests.people.makers import make_sign_in

LIST = "/people/signing-in/"
PHONE = (
    "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 "
    "Mobile/15E148 Safari/604.1"
)
DESK = "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0"
TABLET = "Mozilla/5.0 (Linux; Android 15; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/138.0.0.0 Safari/537.36"
OTHERS = {
    "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/138.0.0.0 "
    "Safari/537.36 Edg/138.0.0.0": "Edge on Windows",
    "curl/8.5": "An unknown device",
    "": "An unknown device",
    "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7)": "macOS",
}


def signed_in(agent: str = DESK, name: str = "pellow") -> Client:
    client = Client(headers={"user-agent": agent})
    assert client.post("/people/sign-in/", {"username": name, "password": PASSWORD}).status_code == 302
    return client


def is_in(client: Client) -> bool:
    return client.get("/people/settings/").status_code == 200


def rows(client: Client) -> list[SignIn]:
    return list(client.get(LIST).context["open"])


def test_each_is_listed_by_device_with_this_one_marked(assistant, visitor):
    with clock.moved(moment("2025-03-03 08:00")):
        signed_in(PHONE)
        signed_in(name="quandry")
    with clock.moved(moment("2025-03-03 09:00")):
        desk = signed_in(DESK)
        page = desk.get(LIST)
    listed = page.context["open"]
    assert [(row.words, row.pk == page.context["here"]) for row in listed] == [
        ("Firefox on Linux", True),
        ("Safari on iPhone", False),
    ]
    text = page.content.decode()
    assert text.count("this one") == 1
    assert "since 3 Mar, 08:00" in text


@pytest.mark.parametrize(("agent", "words"), [(TABLET, "Chrome on Android"), *OTHERS.items()])
def test_a_device_is_told_in_two_words(assistant, agent, words):
    signed_in(agent)
    assert SignIn.objects.get().words == words


def test_one_is_ended_and_no_other(assistant):
    phone, desk, other = signed_in(PHONE), signed_in(DESK), signed_in(TABLET)
    row = SignIn.objects.get(words="Safari on iPhone")
    done = desk.post(f"{LIST}{row.pk}/end/", {"once": str(uuid4())}, follow=True)
    assert "Safari on iPhone is signed out." in done.content.decode()
    assert (is_in(phone), is_in(desk), is_in(other)) == (False, True, True)
    assert len(rows(desk)) == 2


def test_all_others_are_ended(assistant, visitor):
    phone, desk, stranger = signed_in(PHONE), signed_in(DESK), signed_in(name="quandry")
    desk.post(f"{LIST}end-others/", {"once": str(uuid4())})
    assert (is_in(phone), is_in(desk), is_in(stranger)) == (False, True, True)
    assert [row.words for row in rows(desk)] == ["Firefox on Linux"]
    key = desk.session.session_key
    assert key not in str([*Line.objects.values_list(), *Press.objects.values_list()])


def test_nobody_ends_anothers(assistant, visitor, owner):
    phone = signed_in(PHONE)
    row = SignIn.objects.get()
    for person in (visitor, owner):
        with pytest.raises(Refused, match="somebody else"):
            actions.end_sign_in(by=person, once=uuid4(), sign_in=row)
    assert is_in(phone)


def test_ending_twice_is_no_fault(assistant):
    row = make_sign_in(assistant)
    for _ in range(2):
        assert actions.end_sign_in(by=assistant, once=uuid4(), sign_in=row).ended_at is not None


def test_a_new_password_ends_the_others_at_once_and_this_one_goes_on(assistant):
    phone, desk = signed_in(PHONE), signed_in(DESK)
    typed = {"once": str(uuid4()), "old_password": PASSWORD, "password": "four warm words in wax"}
    assert desk.post("/people/password/", typed)["Location"] == "/people/settings/"
    assert [row.words for row in rows(desk)] == ["Firefox on Linux"]  # under its fresh key
    assert Session.objects.count() == 1
    assert (is_in(phone), is_in(desk)) == (False, True)


def test_changed_and_pressed_again_after_a_lost_answer_it_is_the_same_press(assistant):
    """The password of now is another one by then; the token says that it was pressed already."""
    desk = signed_in()
    typed = {"once": str(uuid4()), "old_password": PASSWORD, "password": "four warm words in wax"}
    desk.post("/people/password/", typed)
    again = desk.post("/people/password/", typed)
    assert again.status_code in (302, 409)
    assert "That is not your password now." not in again.content.decode()


def test_switching_off_ends_them_at_once_and_keeps_the_record(owner, assistant):
    phone = signed_in(PHONE)
    actions.change_person(
        by=owner, once=uuid4(), person=assistant, version=1, name="Asta Pellow", role="assistant", is_active=False
    )
    assert not Session.objects.exists()
    assert not is_in(phone)
    assert SignIn.objects.get().ended_at is not None


def test_a_request_that_is_under_way_while_its_session_ends_does_not_bring_it_back(assistant, monkeypatch):
    desk = signed_in()

    def ends_meanwhile(request, now):
        doors.end_sessions(assistant)
        request.session["at"] = now.timestamp()

    monkeypatch.setattr("shop.people.middleware.doors.note_seen", ends_meanwhile)
    assert desk.get("/people/settings/").status_code == 400
    assert not Session.objects.exists()
    monkeypatch.undo()
    assert not is_in(desk)


def test_signing_out_ends_it(assistant):
    desk = signed_in()
    desk.post("/people/sign-out/")
    assert SignIn.objects.get().ended_at is not None


def test_last_seen_goes_in_steps_of_five_minutes(assistant):
    start = moment("2025-03-03 08:00")
    with clock.moved(start):
        desk = signed_in()
    for minutes, seen in ((4, 0), (6, 6), (10, 6), (11, 11)):
        with clock.moved(start + timedelta(minutes=minutes)):
            desk.get("/people/settings/")
        assert SignIn.objects.get().seen_at == start + timedelta(minutes=seen), minutes


def test_between_two_steps_a_page_costs_no_query_more(assistant, client_of):
    counts = []
    for client in (signed_in(), client_of(assistant)):
        with CaptureQueriesContext(connection) as counted:
            client.get("/people/settings/")
        counts.append(len(counted))
    assert counts == [2, 2]


def test_a_sign_in_is_over_after_thirty_days_however_busy(assistant):
    now = moment("2025-03-03 08:00")
    with clock.moved(now):
        desk = signed_in()
    with clock.moved(now + timedelta(days=29)):
        assert is_in(desk)
    with clock.moved(now + timedelta(days=31)):
        assert desk.get("/people/settings/")["Location"] == "/people/sign-in/?next=%2Fpeople%2Fsettings%2F"
    assert SignIn.objects.get().ended_at is not None


def test_old_ones_are_cleared_away(assistant):
    now = moment("2025-03-03 08:00")
    with clock.moved(now):
        signed_in()
        assert doors.forget_old_sign_ins() == "0 forgotten"
        assert SignIn.objects.get().ended_at is None
        Session.objects.all().delete()
    with clock.moved(now + timedelta(days=15)):
        assert doors.forget_old_sign_ins() == "0 forgotten"
        assert SignIn.objects.get().ended_at == now + timedelta(days=15)
    with clock.moved(now + timedelta(days=420)):
        assert doors.forget_old_sign_ins() == "1 forgotten"


def test_a_session_gets_a_fresh_key_when_somebody_comes_in(assistant):
    client = Client()
    client.get("/people/sign-in/")
    session = client.session
    session["x"] = 1
    session.save()
    before = session.session_key
    client.cookies["sessionid"] = before
    client.post("/people/sign-in/", {"username": "pellow", "password": PASSWORD})
    assert client.session.session_key != before
    assert not Session.objects.filter(session_key=before).exists()
