"""The front page, before the check, after it, and in an empty room."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from shop import clock
from shop.cutting.actions import finish_booking, take_off_stylus
from shop.duties.models import Meter
from shop.morning.models import PutAway, Verdict
from shop.morning.today import todays_page
from tests.cutting.makers import make_bench
from tests.duties.makers import make_duty
from tests.makers import moment
from tests.morning.makers import (
    CAN,
    EXITS,
    LAMP,
    ask,
    blanks,
    book,
    correct_check,
    cut,
    fit,
    make_check,
    make_list,
    room_in_order,
)
from tests.room.makers import set_limit, take
from tests.stock.makers import make_item


@pytest.fixture(autouse=True)
def morning(room_row, at):
    with at("2025-03-03 08:05"):
        yield


@pytest.fixture
def asked(engineer):
    room_in_order(engineer)
    return make_list(engineer)


@pytest.fixture
def working(asked, engineer):
    """A room in order, with two sides booked for today and all it takes to cut them."""
    Meter.objects.create(key="chip", name="Chip trap", unit="mg", reset_word="emptied", hold_at=40_000)
    Meter.objects.create(key="line", name="Vacuum line", unit="s", reset_word="cleaned")
    fit(engineer)
    blanks(engineer)
    return book(engineer, "A", "B")


def page():
    return todays_page(clock.now())


def words(client, address="/"):
    return " ".join(client.get(address).content.decode().split())


# Before ---------------------------------------------------------------------------------------------------------------


def test_before_the_check_one_button_and_what_speaks_already(asked, assistant, engineer, client_of):
    set_limit("room_rh", care_above=60.0)
    take(engineer, room_rh=70.0)
    found = page()
    assert found.check is None
    assert [one.key for one in found.reasons] == ["room:limit:room_rh"]
    seen = words(client_of(assistant))
    assert "<h1>Monday 3 March</h1>" in seen
    assert 'href="/check/">Start the morning check</a>' in seen
    assert "What speaks already" in seen
    assert "No check yet today" not in seen
    assert "Clear to cut" not in seen


def test_a_visitor_is_told_there_is_none_yet(asked, visitor, client_of):
    seen = words(client_of(visitor))
    assert "No check yet today." in seen
    assert "Start the morning check" not in seen


def test_what_to_do_leads_nobody_where_they_may_not_go(asked, engineer, visitor, client_of):
    make_duty(engineer, rule="FREQ=DAILY", starts_on=clock.today() - timedelta(days=9))
    book(engineer, "A", "B")  # without a blank or a stylus

    def ways(person):
        seen = client_of(person).get("/").content.decode()
        return re.findall(r'<p class="concern-do">(?:<a href="([^"]+)">)?', seen)

    told, led = ways(visitor), [way for way in ways(engineer) if way]
    assert len(told) == len(led) > 1
    assert 0 < len([way for way in told if way]) < len(led)
    browser = client_of(visitor)
    assert {browser.get(way).status_code for way in told if way} == {200}


def test_yesterdays_check_is_not_todays(asked, assistant, at):
    make_check(assistant)
    with at("2025-03-04 00:10"):
        assert page().check is None


# After ----------------------------------------------------------------------------------------------------------------


def test_after_it_the_verdict_who_when_and_why(working, asked, assistant, client_of):
    make_check(assistant, no=[CAN, EXITS, LAMP])
    found = page()
    assert [one.grade for one in found.reasons] == [3, 2]
    assert [one.key for one in found.notes] == [f"morning:no:{asked[LAMP].pk}"]
    assert found.came == []
    seen = words(client_of(assistant))
    assert "<title>Hold, 3 March 2025 · Latheside</title>" in seen
    assert "Signed by <b>Asta Pellow</b> at <b>08:05</b>" in seen
    assert "The engineer decides." in seen
    assert seen.index(EXITS) < seen.index(CAN) < seen.index(LAMP)


def test_clear_says_what_that_means(working, assistant, client_of):
    check = make_check(assistant)
    assert check.verdict == Verdict.CLEAR
    seen = words(client_of(assistant))
    assert "Clear to cut" in seen
    assert "speaks against it. The engineer decides." in seen


def test_what_came_up_since_stands_apart_and_may_weigh_more(working, assistant, engineer, client_of, at):
    set_limit("room_rh", hold_above=60.0)
    make_check(assistant)
    with at("2025-03-03 10:00"):
        take(engineer, room_rh=70.0)
        found = page()
        assert [one.key for one in found.came] == ["room:limit:room_rh"]
        assert found.reasons == []
        assert (found.now_verdict, found.is_graver, found.is_lighter) == (Verdict.HOLD, True, False)
        seen = words(client_of(assistant))
        assert "Since the check" in seen
        assert "As things stand now: <b>Hold</b>" in seen
        assert seen.index("As things stand now") < seen.index("Since the check")


@pytest.mark.parametrize("no", [[], [LAMP]])
def test_nothing_is_said_to_speak_against_it_where_something_came_up_since(
    no, working, assistant, engineer, client_of, at
):
    set_limit("room_rh", care_above=60.0)
    make_check(assistant, no=no)
    with at("2025-03-03 10:00"):
        take(engineer, room_rh=70.0)
        assert (len(page().came), len(page().reasons), len(page().notes)) == (1, 0, len(no))
        seen = words(client_of(assistant))
        assert "speaks against it" not in seen
        assert ("Known at the check" in seen) == bool(no)


def test_one_that_got_graver_since_counts_as_new(working, assistant, engineer, at):
    set_limit("room_rh", care_above=50.0, hold_above=60.0)
    make_check(assistant, room_rh=52.0)
    with at("2025-03-03 10:00"):
        take(engineer, room_rh=63.0)
        assert [one.key for one in page().came] == ["room:limit:room_rh"]


def test_what_was_settled_since_is_told_but_the_verdict_stays(working, assistant, engineer, client_of, at):
    set_limit("room_rh", care_above=50.0)
    make_check(assistant, room_rh=55.0)
    with at("2025-03-03 10:00"):
        take(engineer, room_rh=45.0)
        found = page()
        assert [one["key"] for one in found.went] == ["room:limit:room_rh"]
        assert found.is_lighter
        seen = words(client_of(assistant))
        assert "Cut with care" in seen
        assert "1 settled since the check" in seen
        assert "Nothing speaks against it any more" in seen
        assert "The reasons below" not in seen
        for part in ("it would be: <b>Clear to cut</b>", "The verdict stays as it was signed", "Bring it up to date"):
            assert seen.index("Cut with care</b>") < seen.index(part) < seen.index('id="reasons"'), part


def test_the_last_check_signed_is_the_one_that_counts(asked, assistant):
    first = make_check(assistant, no=[EXITS])
    second = correct_check(assistant, first)
    assert page().check == second
    third = make_check(assistant, no=[CAN])
    assert page().check == third


# The day --------------------------------------------------------------------------------------------------------------


def test_the_days_sides_stand_against_what_the_room_has(working, assistant, client_of):
    take(assistant, nitrogen_bar=190.0, room_c=20.0)
    found = page()
    assert found.sides == 2
    assert [booking.code for booking in found.bookings] == ["B-0001"]
    assert [store["name"] for store in found.stores] == [
        "14 inch blanks",
        "Stylus S-1 in Lathe one",
        "Nitrogen, cylinder N-17",
        "Chip trap",
    ]
    assert all(store["mark"]["enough"] for store in found.stores)
    seen = words(client_of(assistant))
    assert "2 wanted, 10 usable" in seen
    assert f'href="/cutting/sides/log/?wanted={working.wanted.get(label="A").pk}"' in seen or "?wanted=" in seen


def test_a_side_cut_since_the_check_is_counted_and_gone(working, assistant, engineer, client_of, at):
    make_check(assistant)
    with at("2025-03-03 10:00"):
        cut(engineer, working, "A")
        found = page()
        assert (found.sides, found.cut_since) == (1, 1)
        assert "1 done since the check" in words(client_of(assistant))
    with at("2025-03-03 11:00"):
        cut(engineer, working, "B")
        assert (page().sides, page().cut_since) == (0, 2)
        assert "All that was waiting at the check is cut or moved: 2 sides." in words(client_of(assistant))


def test_what_is_short_is_told_in_words(asked, engineer, assistant, client_of):
    fit(engineer)
    book(engineer, "A")
    seen = words(client_of(assistant))
    assert "none left" in seen
    assert "1 missing" in seen
    assert "Not enough" in seen


def test_the_coming_week_in_brief(asked, engineer, assistant, client_of):
    today = clock.today()
    book(engineer, "A", code="B-0001", on=today + timedelta(days=1))
    book(engineer, "A", "B", code="B-0002", on=today + timedelta(days=1))
    book(engineer, "A", code="B-0003", on=today + timedelta(days=7))
    book(engineer, "A", code="B-0004", on=today + timedelta(days=8))
    coming = page().coming
    assert [(one.day, one.sides) for one in coming] == [(today + timedelta(days=1), 3), (today + timedelta(days=7), 1)]
    seen = words(client_of(assistant))
    assert "Tue 4 Mar" in seen
    assert "B-0004" not in seen


# An empty room --------------------------------------------------------------------------------------------------------


def test_an_empty_room_says_what_to_do_first_in_order(owner, client_of):
    steps = page().steps
    assert [step.done for step in steps] == [False] * len(steps)
    browser = client_of(owner)
    seen = words(browser)
    places = [seen.index(step.words) for step in steps]
    assert places == sorted(places)
    for step in steps:
        assert browser.get(step.link).status_code == 200


def test_receiving_blanks_is_one_press_from_the_first_steps(owner, client_of):
    blank = make_item(owner)
    browser = client_of(owner)
    link = next(step.link for step in page().steps if step.words == "Receive blanks")
    way = reverse("stock:receive-delivery", args=[blank.pk])
    assert way in browser.get(link).content.decode()
    assert browser.get(way).status_code == 200


def test_done_steps_are_ticked_off_and_stay_until_each_is_done(engineer, assistant, at):
    room_in_order(engineer)
    assert [step.words for step in page().steps if step.done] == ["Connect a cylinder"]
    ask(engineer, EXITS)
    make_check(assistant)
    assert [step.done for step in page().steps] == [False, True, False, False]
    with at("2025-03-04 08:00"):
        assert [step.done for step in page().steps] == [False, True, False, False]
        bench = make_bench(engineer)
        assert [step.words for step in page().steps if not step.done] == ["Add a booking"]
        booking = book(engineer, "A")
        assert page().steps == []
        # what was done once stays done
        take_off_stylus(by=engineer, once=uuid4(), stylus=bench.stylus)
        finish_booking(by=engineer, once=uuid4(), booking=booking, sure=["uncut:A"])
        assert page().steps == []


def test_the_list_is_put_away_by_a_press(asked, engineer, visitor, client_of):
    make_check(engineer)
    assert "First things first" in words(client_of(visitor))
    assert "Put this list away" not in words(client_of(visitor))
    way, browser = reverse("morning:put-away-first-things"), client_of(engineer)
    assert browser.get(way).status_code == 405
    assert client_of(visitor).post(way, {"once": str(uuid4())}).status_code == 403
    assert "Put this list away" in words(browser)
    lost = browser.post(way, {})
    assert lost.status_code == 422
    assert "lost its one-time token" in lost.content.decode()
    assert page().steps
    for _ in range(2):
        assert browser.post(way, {"once": str(uuid4())})["Location"] == reverse("morning:today")
    assert page().steps == []
    assert "First things first" not in words(browser)
    assert PutAway.objects.get().by == engineer


def test_a_booking_that_is_cut_and_finished_stays_ticked_off(engineer):
    booking = book(engineer, "A")
    words_done = [step.words for step in page().steps if step.done]
    assert words_done == ["Add a booking"]
    finish_booking(by=engineer, once=uuid4(), booking=booking, sure=["uncut:A"])
    assert [step.words for step in page().steps if step.done] == words_done


# Cost -----------------------------------------------------------------------------------------------------------------


def test_fifteen_queries_whatever_the_history(
    working, engineer, assistant, client_of, at, django_assert_max_num_queries
):
    """Before and after the check, at 10 checks and at 80, with readings growing alongside; the dearest case, in
    which the room's temperature was read apart from the gauge."""
    browser = client_of(assistant)
    counts = []

    def look(moment_text):
        with at(moment_text), django_assert_max_num_queries(15) as counted:
            assert browser.get("/").status_code == 200
        counts.append(len(counted.captured_queries))

    def look_before_and_after(day):
        with at(f"{day} 07:50"):
            take(engineer, nitrogen_bar=190.0)
        with at(f"{day} 07:52"):
            take(engineer, room_c=20.0)
        look(f"{day} 07:55")
        with at(f"{day} 08:05"):
            make_check(assistant, no=[CAN], left_out=["nitrogen_bar"])
        look(f"{day} 08:10")

    start = moment("2025-03-04 08:00")
    for number in range(80):
        if number == 10:
            look_before_and_after("2025-03-14")
        with clock.moved(start + timedelta(days=number)):
            make_check(assistant, no=[CAN] if number % 3 else [])
    look_before_and_after("2025-05-24")
    assert counts[:2] == counts[2:]


def test_an_empty_room_keeps_to_them_too(owner, client_of, django_assert_max_num_queries):
    browser = client_of(owner)
    with django_assert_max_num_queries(15):
        browser.get("/")
