"""The binder: asked for, made in the background with progress, kept until something changes."""

from datetime import timedelta
from io import BytesIO
from uuid import uuid4

import pypdf
import pytest
from django.urls import reverse

from shop import clock, paper
from shop.people.models import Room
from shop.refusal import NotAllowed, Refused
from shop.safety import actions, queries
from shop.safety.models import Binder, CallNumber
from shop.safety.papers import binder
from tests.safety.hazard_sheets import approve, make_in_force, make_sheet, write, written
from tests.safety.papers import codes, is_accessible, pictures, stands_within, words

pytestmark = pytest.mark.django_db

OPENS = "http://cutting-room.local:8000"
TITLES = ("Hot lamp", "Moving a ladder", "Quillspirit")


@pytest.fixture(autouse=True)
def empty_folder(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "files"


@pytest.fixture
def three(engineer, owner, room_row):
    CallNumber.objects.create(name="Fire service", number="112")
    found = [make_in_force(engineer, owner, title).sheet for title in TITLES]
    write(engineer, make_sheet(engineer, "Not yet", "not-yet"))
    return found


def ask(by, size="A4", **other):
    return actions.make_binder(**{"by": by, "once": uuid4(), "paper": size, "opens": OPENS, **other})


def make(by, size="A4"):
    row = ask(by, size)
    assert binder.carry_on(row.pk)
    row.refresh_from_db()
    return row


# Asking ---------------------------------------------------------------------------------------------------------------


def test_ask_once_makes_one_row(assistant, three):
    token = uuid4()
    assert ask(assistant, once=token) == ask(assistant, once=token)
    assert Binder.objects.count() == 1


def test_asking_while_one_is_made_gives_that_one(assistant, engineer, three):
    assert ask(assistant) == ask(engineer)
    assert ask(assistant, "Letter") != ask(assistant)


def test_a_visitor_may_not_ask(visitor, three):
    with pytest.raises(NotAllowed):
        ask(visitor)


def test_nothing_in_force_is_refused(assistant, engineer, room_row):
    write(engineer, make_sheet(engineer))
    with pytest.raises(Refused, match="No sheet is in force"):
        ask(assistant)


def test_another_paper_is_refused(assistant, three):
    with pytest.raises(Refused, match="paper"):
        ask(assistant, "A0")


# Making ---------------------------------------------------------------------------------------------------------------


@pytest.mark.paper
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_it_holds_every_sheet_in_force_behind_its_contents(assistant, three, tmp_path, size):
    row = make(assistant, size)
    made = binder.file_of(row).read_bytes()
    contents, *sheets = words(made)
    assert row.pages == 4
    for number, title in enumerate(TITLES, 2):
        assert f"{title}" in contents
        assert f"{title}" in sheets[number - 2]
        assert f"{number} of 4" in sheets[number - 2]
        assert contents[contents.index(title) + len(title) :].lstrip(" .")[0] == str(number)
    assert "Not in this binder" in contents
    assert "Not yet: draft, not in force" in contents
    assert "safety data sheet" in contents
    stands_within(made, size, tmp_path, margin_mm=4)
    is_accessible(made, tmp_path)
    read = [code for picture in pictures(made, tmp_path) for code in codes(picture)]
    assert sorted(read) == sorted(OPENS + sheet.get_absolute_url() for sheet in three)


@pytest.mark.paper
def test_contents_lead_to_the_sheets_and_bookmarks_name_them(assistant, three):
    reader = pypdf.PdfReader(BytesIO(binder.file_of(make(assistant)).read_bytes()))
    assert [mark["/Title"] for mark in reader.outline] == ["Hazard sheets in force", *TITLES]
    assert [reader.get_destination_page_number(mark) for mark in reader.outline] == [0, 1, 2, 3]
    assert len([note for note in reader.pages[0]["/Annots"] if note.get_object()["/Subtype"] == "/Link"]) == 3


@pytest.mark.paper
def test_a_long_sheet_among_them_keeps_its_type_and_says_so(assistant, engineer, owner, three, tmp_path):
    lines = "\n".join(f"Line {n} of a thing that goes on and on about one matter. [a]" for n in range(12))
    names = ("can_hurt", "before", "never", "wear", "if_fire", "if_spill", "if_eyes", "waste", "while", "apart")
    long = write(engineer, make_sheet(engineer, "Long", "long"), written(**dict.fromkeys(names, lines)))
    approve(owner, long)
    made = binder.file_of(make(assistant)).read_bytes()
    assert sum("takes more than one page" in page for page in words(made)) == 1
    stands_within(made, "A4", tmp_path, margin_mm=4)


def test_its_progress_is_told_while_it_is_made(assistant, three, monkeypatch, client_of):
    row, seen, client = ask(assistant), [], client_of(assistant)
    real = binder.sheets.lay_out

    def watched(*given, **more):
        page = client.get(reverse("safety:binder"))
        seen.append((page.context["made"].done, page.context["made"].of))
        assert f"Setting sheet {seen[-1][0]} of 4." in page.content.decode()
        return real(*given, **more)

    monkeypatch.setattr(binder.sheets, "lay_out", watched)
    assert binder.carry_on(row.pk)
    assert seen == [(0, 4), (1, 4), (2, 4)]
    assert "It is current" in client.get(reverse("safety:binder")).content.decode()


def test_one_worker_at_a_time_and_another_after_it_was_cut_off(assistant, three):
    row = ask(assistant)
    Binder.objects.filter(pk=row.pk).update(working_since=clock.now())
    assert not binder.carry_on(row.pk)
    Binder.objects.filter(pk=row.pk).update(working_since=clock.now() - timedelta(minutes=6))
    assert binder.carry_on(row.pk)
    assert not binder.carry_on(row.pk)
    assert binder.carry_on_all() == "0 made"


def test_what_breaks_off_is_told(assistant, three, monkeypatch, client_of, caplog):
    row = ask(assistant)
    monkeypatch.setattr(binder, "_make", lambda _: 1 / 0)
    assert binder.carry_on(row.pk)
    assert "ZeroDivisionError" in caplog.text
    assert "broke off" in client_of(assistant).get(reverse("safety:binder")).content.decode()


def test_without_pango_it_says_what_to_install(assistant, three, monkeypatch):
    def missing():
        raise paper.PaperMissing("cannot load library 'libpango-1.0-0'")

    row = ask(assistant)
    monkeypatch.setattr(paper, "load", missing)
    binder.carry_on(row.pk)
    row.refresh_from_db()
    assert "Pango" in row.why


# Pages ----------------------------------------------------------------------------------------------------------------


def test_it_is_handed_out_and_is_current_until_something_changes(assistant, owner, engineer, three, client_of):
    row, client = make(assistant), client_of(assistant)
    answer = client.get(reverse("safety:binder-pdf", args=[row.pk]))
    assert b"".join(answer.streaming_content).startswith(b"%PDF")
    assert "It is current" in client.get(reverse("safety:binder")).content.decode()
    CallNumber.objects.update(number="113")
    text = client.get(reverse("safety:binder")).content.decode()
    assert "Something has changed" in text
    assert "as it was" in text
    again = make(assistant)
    assert queries.latest_binder("A4") == again


def test_each_change_makes_it_no_longer_current(assistant, owner, engineer, three, client_of):
    client = client_of(assistant)

    def is_current():
        return client.get(reverse("safety:binder")).context["is_current"]

    make(assistant)
    assert is_current()
    approve(owner, write(engineer, three[0], written(never="Never again. [a]")))
    assert not is_current()
    make(assistant)
    assert is_current()
    Room.objects.update(name="Another room")
    assert not is_current()


def test_older_files_are_let_go(assistant, three, client_of):
    rows = []
    for n in range(3):
        CallNumber.objects.update(number=f"11{n}")
        rows.append(make(assistant))
    assert len(list(binder.file_of(rows[-1]).parent.glob("*.pdf"))) == 2
    answer = client_of(assistant).get(reverse("safety:binder-pdf", args=[rows[0].pk]))
    assert (answer.status_code, answer.url) == (302, reverse("safety:binder"))


def test_the_button_asks_for_it(assistant, three, client_of):
    answer = client_of(assistant).post(reverse("safety:make-binder"), {"once": str(uuid4()), "paper": "Letter"})
    assert answer.status_code == 302
    row = Binder.objects.get()
    assert (row.paper, row.opens) == ("Letter", "http://testserver")


def test_a_refusal_is_said_on_the_page(assistant, room_row, client_of):
    answer = client_of(assistant).post(reverse("safety:make-binder"), {"once": str(uuid4()), "paper": "A4"})
    assert answer.status_code == 422
    assert "No sheet is in force yet" in answer.content.decode()


def test_the_page_takes_few_queries(assistant, three, client_of, django_assert_max_num_queries):
    make(assistant)
    client = client_of(assistant)
    with django_assert_max_num_queries(12):
        client.get(reverse("safety:binder"))
