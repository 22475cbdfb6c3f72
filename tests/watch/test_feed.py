"""The calendar feed, read back by two independent readers."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import icalendar
import pytest
import vobject

from shop import clock, happening
from shop.happening import Happening
from shop.watch import actions, feed
from shop.watch.models import FeedEntry
from tests.makers import ZONE, moment

pytestmark = pytest.mark.django_db

SECRET = "b" * 43


class Calendar(list[Happening]):
    def __call__(self, now):
        return list(self)


@pytest.fixture
def diary(room_row):
    """What stands in the calendar: put in by the test."""
    before = dict(happening._questions)
    happening._questions.clear()
    kept = Calendar()
    happening.register("test", kept)
    yield kept
    happening._questions.clear()
    happening._questions.update(before)


def booking(start="2025-03-28 09:30", **other):
    facts = {
        "uid": "cutting:booking:12",
        "title": "Half Kites, sides A and B; “loud”",
        "start": moment(start),
        "minutes": 95,
        "note": "Blanks: 14 inch, 2.\nComma, semicolon; backslash \\ and an é that is two octets: " + "é" * 60,
        "link": "/cutting/bookings/12/",
    }
    return Happening(**facts | other)


def read(now="2025-03-03 08:00"):
    with clock.moved(moment(now)):
        feed.refresh()
    body = feed.body_for_room()
    return body, icalendar.Calendar.from_ical(body)


def test_it_says_what_it_was_told(diary):
    diary += [booking(), Happening(uid="duties:duty:3", title="Oil the leadscrew", start=date(2025, 3, 31))]
    body, calendar = read()
    timed, whole = sorted(calendar.events, key=lambda event: event["uid"])
    assert timed["summary"] == booking().title
    assert timed["description"] == booking().note
    assert timed.decoded("dtstart") == datetime(2025, 3, 28, 9, 30, tzinfo=ZoneInfo(ZONE))
    assert timed["dtstart"].params["TZID"] == ZONE
    assert timed.decoded("duration") == timedelta(minutes=95)
    assert timed["status"] == "CONFIRMED"
    assert whole.decoded("dtstart") == date(2025, 3, 31)
    again = vobject.readOne(body.decode())
    assert sorted(event.summary.value for event in again.vevent_list) == sorted([booking().title, "Oil the leadscrew"])


def test_its_lines_are_of_at_most_75_octets_and_end_as_they_should(diary):
    diary += [booking()]
    body, _ = read()
    assert max(len(line) for line in body.split(b"\r\n")) <= 75
    assert b"\n" not in body.replace(b"\r\n", b"")


def test_each_zone_it_names_has_its_rules_and_they_agree_with_the_zone(diary):
    """The hour after the change of clocks of 30 March 2025, as a reader without a zone database works it out."""
    diary += [booking("2025-03-28 09:30"), booking("2025-03-31 09:30", uid="cutting:booking:13")]
    body, _ = read()
    again = vobject.readOne(body.decode())
    moments = sorted(event.dtstart.value.astimezone(UTC) for event in again.vevent_list)
    assert moments == [datetime(2025, 3, 28, 9, 30, tzinfo=UTC), datetime(2025, 3, 31, 8, 30, tzinfo=UTC)]


def test_a_change_counts_up_the_sequence_and_keeps_the_uid(diary):
    diary += [booking()]
    _, before = read("2025-03-03 08:00")
    diary[:] = [booking("2025-03-29 09:30")]
    _, after = read("2025-03-04 08:00")
    (old,), (new,) = before.events, after.events
    assert old["uid"] == new["uid"]
    assert (old["sequence"], new["sequence"]) == (0, 1)
    assert new.decoded("dtstamp") == moment("2025-03-04 08:00")


def test_looking_again_changes_nothing_not_even_a_stamp(diary):
    diary += [booking()]
    first, _ = read("2025-03-03 08:00")
    second, _ = read("2025-03-03 09:00")
    assert first == second


@pytest.mark.parametrize("how", ["it says so", "it vanished"])
def test_what_was_called_off_is_shown_as_cancelled(diary, how):
    diary += [booking()]
    read()
    diary[:] = [booking(is_cancelled=True)] if how == "it says so" else []
    _, calendar = read("2025-03-04 08:00")
    (event,) = calendar.events
    assert (event["status"], event["sequence"]) == ("CANCELLED", 1)


def test_what_was_done_and_gone_is_not_called_off(diary):
    diary += [booking("2025-03-03 09:30")]
    read("2025-03-03 08:00")
    diary.clear()
    _, calendar = read("2025-03-05 08:00")
    assert [event["status"] for event in calendar.events] == ["CONFIRMED"]
    read("2025-06-05 08:00")
    assert not FeedEntry.objects.exists()


# Its address ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def address(diary, owner):
    diary += [booking()]
    read()
    actions.renew_feed(by=owner, once=uuid4(), secret=SECRET)
    return f"/watch/feed/{SECRET}.ics"


def test_it_needs_no_sign_in_and_answers_what_did_not_change_with_nothing(client, address):
    page = client.get(address)
    assert page.status_code == 200
    assert page["Content-Type"] == "text/calendar; charset=utf-8"
    again = client.get(address, headers={"If-None-Match": page["ETag"]})
    assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize("what", ["another", "renewed", "closed", "switched off"])
def test_any_other_address_is_not_found(client, address, owner, what):
    if what == "another":
        address = address.replace("b", "c", 1)
    elif what == "renewed":
        actions.renew_feed(by=owner, once=uuid4(), secret="d" * 43)
    elif what == "closed":
        actions.close_feed(by=owner, once=uuid4())
    else:
        type(owner).objects.update(is_active=False)
    assert client.get(address).status_code == 404


@pytest.mark.parametrize("once", ["", "not a token"])
def test_closing_it_without_a_token_says_so_and_closes_nothing(client_of, owner, diary, once):
    client = client_of(owner)
    actions.renew_feed(by=owner, once=uuid4(), secret="d" * 43)
    answer = client.post("/watch/feed/close/", {"once": once})
    assert answer.status_code == 422
    assert "lost its one-time token" in answer.content.decode()
    assert client.get(f"/watch/feed/{'d' * 43}.ics").status_code == 200
    token = answer.context["form"].token
    assert client.post("/watch/feed/close/", {"once": token}).status_code == 302
    assert client.get(f"/watch/feed/{'d' * 43}.ics").status_code == 404


def test_the_address_is_shown_once_and_its_secret_is_not_kept(client_of, owner, diary):
    client = client_of(owner)
    page = client.post("/watch/feed/renew/", {"once": str(uuid4())}).content.decode()
    secret = page.partition("/watch/feed/")[2].partition(".ics")[0]
    assert len(secret) == 43
    assert client.get(f"/watch/feed/{secret}.ics").status_code == 200
    assert secret not in client.get("/watch/wishes/").content.decode()
    assert secret not in owner.feed_key.digest


def test_pressed_again_it_makes_no_other_address_and_shows_none(client_of, owner, diary):
    client, typed = client_of(owner), {"once": str(uuid4())}
    page = client.post("/watch/feed/renew/", typed).content.decode()
    secret = page.partition("/watch/feed/")[2].partition(".ics")[0]
    again = client.post("/watch/feed/renew/", typed, follow=True)
    assert "The address was made already, and shown once" in again.content.decode()
    assert ".ics" not in again.content.decode()
    assert client.get(f"/watch/feed/{secret}.ics").status_code == 200
    client.post("/watch/feed/close/", {"once": str(uuid4())})
    gone = client.post("/watch/feed/renew/", typed)
    assert gone.status_code == 409
    assert "taken away since" in gone.content.decode()


def test_the_address_begins_with_what_other_machines_can_open(client_of, owner, diary, settings):
    def shown():
        return client.post("/watch/feed/renew/", {"once": str(uuid4())}).content.decode()

    client = client_of(owner)
    settings.LATHESIDE_ADDRESS = "http://127.0.0.1:8000"
    assert "http://testserver/watch/feed/" in shown()
    settings.LATHESIDE_ADDRESS = "https://cutting-room.local"
    assert "https://cutting-room.local/watch/feed/" in shown()
