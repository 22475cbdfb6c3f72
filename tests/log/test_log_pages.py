"""The pages of the log, and where it shows elsewhere."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.log import things
from shop.log.models import Note, NoteRead
from tests.log.makers import read, write
from tests.makers import at
from tests.stock.makers import make_item, make_lot

WRITE = "/log/write/"


@pytest.fixture
def lot(engineer):
    return make_lot(engineer, make_item(engineer, "Fourteen inch blank"), code="KF-2407")


def press(browser, path=WRITE, **typed):
    return browser.post(path, {"once": str(uuid4()), "kind": "note", "text": "Quiet.", **typed})


# Writing --------------------------------------------------------------------------------------------------------------


def test_a_note_is_written_and_shown(client_of, engineer, assistant, lot):
    browser = client_of(engineer)
    answer = press(browser, whom=["everybody", f"p{assistant.pk}"], also="Fourteen inch blank, kf-2407")
    note = Note.objects.get()
    assert answer.status_code == 302
    assert answer.url == note.get_absolute_url()
    page = browser.get(answer.url).content.decode()
    assert "Lot KF-2407, Fourteen inch blank" in page
    assert "Item: Fourteen inch blank" in page
    assert f"For everybody who works here and {assistant.name}" in page


def test_words_that_may_mean_several_things_are_asked_about(client_of, engineer, lot):
    make_lot(engineer, lot.item, code="KF-2408")
    browser = client_of(engineer)
    answer = press(browser, also="KF-24")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "may be 2 things" in page
    assert f'value="{things.ref_of(lot)}"' in page
    assert "Quiet." in page
    assert press(browser, also="KF-24", about=[things.ref_of(lot)]).status_code == 302
    assert [link.label for link in Note.objects.get().links.all()] == ["KF-2407, Fourteen inch blank"]


def test_words_that_mean_nothing_are_refused_and_kept(client_of, engineer):
    answer = press(client_of(engineer), also="KF-99")
    assert answer.status_code == 422
    assert "Nothing here has “KF-99”" in answer.content.decode()
    assert 'value="KF-99"' in answer.content.decode()


def test_writing_about_a_thing_begins_with_it(client_of, engineer, lot):
    browser = client_of(engineer)
    path = reverse("log:write-about", args=[things.ref_of(lot)])
    page = browser.get(path).content.decode()
    assert f'data-draft="{path}"' in page  # what was typed about one thing is no draft about another
    assert "checked" in page
    press(browser, path, about=[things.ref_of(lot)])
    assert Note.objects.get().links.get().key == str(lot.pk)
    assert browser.get("/log/write/lot:0/").status_code == 404
    assert browser.get("/log/write/nothing/").status_code == 404


def test_the_wrong_method_and_the_wrong_people(client, client_of, engineer, visitor):
    note = write(engineer)
    assert client.get("/log/").status_code == 302
    for path in ("/log/", WRITE, note.get_absolute_url()):
        assert client_of(visitor).get(path).status_code == 403
    assert client_of(engineer).put(WRITE).status_code == 405
    assert client_of(engineer).get(f"/log/{note.pk}/read/").status_code == 405
    assert client_of(engineer).post("/log/").status_code == 405


def test_only_the_writer_is_offered_to_put_it_right(client_of, engineer, owner):
    note = write(engineer)
    path = f"/log/{note.pk}/correct/"
    assert path in client_of(engineer).get(note.get_absolute_url()).content.decode()
    assert path not in client_of(owner).get(note.get_absolute_url()).content.decode()
    assert press(client_of(owner), path).status_code == 403
    assert press(client_of(engineer), path, text="Better.", whom=["everybody"]).status_code == 302
    page = client_of(engineer).get("/log/").content.decode()
    assert "Put right on" in page
    assert "Better." in page


# The list -------------------------------------------------------------------------------------------------------------


def test_the_list_is_narrowed(client_of, engineer, assistant, lot):
    with at("2025-03-04 09:00"):
        write(engineer, "The hose is split.", about=[things.ref_of(lot)])
    with at("2025-03-05 09:00"):
        write(assistant, "The lamp is dim.", kind="handover")
    browser = client_of(engineer)

    def shown(query):
        page = browser.get(f"/log/?{query}").content.decode()
        return [text for text in ("hose is split", "lamp is dim") if text in page]

    assert shown("words=HOSE") == shown(f"by={engineer.pk}") == shown("kind=note") == ["hose is split"]
    assert shown(f"about={things.ref_of(lot)}") == ["hose is split"]
    assert shown("since=2025-03-05") == shown("kind=handover") == ["lamp is dim"]
    assert shown("words=quiet") == shown("about=lot:0") == []


def test_a_full_log_keeps_to_its_queries(client_of, engineer, assistant, lot, django_assert_max_num_queries):
    for number in range(35):
        write(engineer, f"Note {number}", about=[things.ref_of(lot)], people=[assistant])
    browser = client_of(assistant)
    for path in ("/log/", "/log/?words=Note", f"/log/?about={things.ref_of(lot)}"):
        with django_assert_max_num_queries(12):
            page = browser.get(path).content.decode()
    assert page.count('<li class="log-note') == 30
    assert "Older" in page


def test_it_is_carried_away_by_those_who_may_read_it(client_of, engineer, assistant, visitor, lot):
    note = write(engineer, "=1+1 is two", about=[things.ref_of(lot)])
    read(assistant, note)
    answer = client_of(engineer).get("/carry/log.csv?words=two")
    rows = b"".join(answer.streaming_content).decode()
    assert "'=1+1 is two" in rows
    assert "Lot KF-2407, Fourteen inch blank" in rows
    assert assistant.name in rows
    assert client_of(visitor).get("/carry/log.csv").status_code == 403


# On other pages -------------------------------------------------------------------------------------------------------


def test_a_things_page_tells_of_it(client_of, engineer, visitor, lot):
    write(engineer, "Dull at the rim.", about=[things.ref_of(lot)])
    page = client_of(engineer).get(lot.get_absolute_url()).content.decode()
    assert "Dull at the rim." in page
    assert reverse("log:write-about", args=[things.ref_of(lot)]) in page
    assert "Dull at the rim." not in client_of(visitor).get(lot.get_absolute_url()).content.decode()


def test_todays_page_shows_it_until_it_is_read(client_of, engineer, assistant, visitor, lot):
    note = write(engineer, "Take the left box.", kind="handover", about=[things.ref_of(lot)])
    browser = client_of(assistant)
    page = browser.get("/").content.decode()
    assert "Take the left box." in page
    assert "Lot KF-2407, Fourteen inch blank" in page
    assert "Take the left box." not in client_of(visitor).get("/").content.decode()
    answer = browser.post(f"/log/{note.pk}/read/", {"once": str(uuid4()), "next": "/"})
    assert (answer.status_code, answer.url) == (302, "/")
    assert NoteRead.objects.get().person == assistant
    assert "Take the left box." not in browser.get("/").content.decode()


def test_a_press_leads_to_no_other_site(client_of, engineer, assistant):
    note = write(engineer)
    answer = client_of(assistant).post(f"/log/{note.pk}/read/", {"once": str(uuid4()), "next": "https://far.example/"})
    assert answer.url == note.get_absolute_url()


def test_a_press_without_its_token_says_so(client_of, engineer, assistant):
    note = write(engineer)
    answer = client_of(assistant).post(f"/log/{note.pk}/read/", {})
    assert answer.status_code == 422
    assert "Nothing was saved" in answer.content.decode()
    assert not NoteRead.objects.exists()


def test_today_tells_of_the_first_few_and_how_many_more(client_of, engineer, assistant):
    for number in range(6):
        write(engineer, f"Note {number}.")
    page = client_of(assistant).get("/").content.decode()
    assert "Note 3." in page
    assert "Note 4." not in page
    assert "2 more in the log" in page


def test_todays_page_needs_no_query_more_for_it(client_of, engineer, assistant, lot):
    browser = client_of(assistant)

    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert browser.get("/").status_code == 200
        return len(captured)

    queries()
    quiet = queries()
    for number in range(3):
        write(engineer, f"Note {number}", about=[things.ref_of(lot)])
    assert queries() == quiet <= 15


# Looking for words, and putting right ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "found"),
    [("hose spare", True), ("  HOOK   spare ", True), ("spare hook hose its", True), ("spare lamp", False)],
)
def test_every_word_typed_stands_in_what_is_found_in_any_order(client_of, engineer, typed, found):
    write(engineer, "The spare hose is on its hook.")
    page = client_of(engineer).get("/log/", {"words": typed}).content.decode()
    assert ("The spare hose is on its hook." in page.partition('id="all"')[2]) == found


def test_more_than_a_search_is_refused_and_breaks_nothing(client_of, engineer):
    write(engineer)
    answer = client_of(engineer).get("/log/", {"words": " ".join(str(n) for n in range(2000))})
    assert answer.status_code == 200
    assert answer.context["filter"].form.errors["words"]


def test_anothers_note_and_one_put_right_already_say_so_in_place_of_the_form(client_of, engineer, assistant):
    note = write(engineer)
    address = reverse("log:correct-note", args=[note.pk])
    page = client_of(assistant).get(address).content.decode()
    assert "Only whoever wrote a note puts it right." in page
    assert 'name="text"' not in page
    assert 'name="text"' in client_of(engineer).get(address).content.decode()
    typed = {"once": uuid4(), "text": "No.", "kind": "note"}
    assert client_of(assistant).post(address, typed).status_code == 403
    assert Note.objects.count() == 1
    typed = {"once": uuid4(), "text": "It is on the other hook.", "kind": "note", "whom": "everybody"}
    client = client_of(engineer)
    assert client.post(address, typed).status_code == 302
    assert client.post(address, typed).status_code == 302  # the same press again
    page = client.get(address).content.decode()
    assert "That note was put right already" in page
    assert 'name="text"' not in page
    assert Note.objects.exclude(pk=note.pk).get().get_absolute_url() in page
    assert Note.objects.count() == 2
