"""The pages for a hurry: in what order they say it, what may be kept of them, and by which script."""

import re
from uuid import uuid4

import pytest
from django.urls import reverse

from shop.safety import actions
from tests.house.files import ROOT
from tests.safety.hazard_sheets import make_in_force, make_sheet, write

pytestmark = pytest.mark.django_db

KEEP = "Latheside-Keep"


@pytest.fixture
def sheet(engineer, owner):
    return make_in_force(engineer, owner).sheet


def test_what_to_do_comes_before_all_else(sheet, visitor, client_of):
    shown = client_of(visitor).get(f"/hazards/hurry/{sheet.slug}/").content.decode()
    places = [shown.index(f'id="{part}"') for part in ("call", "if-fire", "if-eyes", "if-other", "can-hurt", "never")]
    assert places == sorted(places)


def test_only_what_is_in_force_may_be_kept(sheet, engineer, visitor, client_of):
    draft = write(engineer, make_sheet(engineer, "Cold lamp", "cold-lamp"))
    browser = client_of(visitor)
    assert browser.get(f"/hazards/hurry/{sheet.slug}/").headers[KEEP] == "in force"
    assert browser.get("/hazards/hurry/").headers[KEEP] == "in force"
    answer = browser.get(f"/hazards/hurry/{draft.slug}/")
    assert KEEP not in answer.headers
    assert "This is a draft and not in force" in answer.content.decode()
    for name in ("safety:hazards", "safety:hazard-sheets", "morning:today"):
        assert KEEP not in browser.get(reverse(name)).headers
    assert KEEP not in browser.get(sheet.get_absolute_url()).headers
    actions.stop_sheet(by=engineer, once=uuid4(), sheet=sheet)
    assert KEEP not in browser.get(f"/hazards/hurry/{sheet.slug}/").headers
    assert KEEP not in browser.get("/hazards/hurry/").headers


def test_the_list_asks_to_keep_what_is_in_force_and_shows_the_rest_apart(sheet, engineer, client_of):
    write(engineer, make_sheet(engineer, "Cold lamp", "cold-lamp"))
    shown = client_of(engineer).get("/hazards/hurry/").content.decode()
    assert re.findall(r'<a href="([^"]+)" data-keep>', shown) == ["/hazards/hurry/hot-lamp/"]
    assert shown.index("Hot lamp") < shown.index("Not in force here") < shown.index("Cold lamp")


def test_a_sheet_on_which_nothing_is_written_takes_nobody_there(sheet, engineer, client_of):
    made = make_sheet(engineer, "Cold lamp", "cold-lamp")
    browser = client_of(engineer)
    assert "Cold lamp" not in browser.get("/hazards/hurry/").content.decode()
    write(engineer, made)
    assert "Cold lamp" in browser.get("/hazards/hurry/").content.decode()


def test_it_holds_nothing_about_who_looks(sheet, engineer, owner, client_of, at):
    with at("2025-03-03 09:00"):
        pages = [
            [client_of(person).get(path).content for person in (engineer, owner)]
            for path in ("/hazards/hurry/", f"/hazards/hurry/{sheet.slug}/")
        ]
    for one, other in pages:
        assert one == other
        assert b"csrf" not in one
        assert owner.name.encode() not in one


def test_it_says_of_when_it_is(sheet, owner, client_of, at):
    with at("2025-03-03 09:05"):
        shown = client_of(owner).get(f"/hazards/hurry/{sheet.slug}/").content.decode()
    assert shown.count("3 March 2025, 09:05") == 2
    assert 'id="kept-copy" hidden' in shown  # the worker shows it by these words


def test_the_worker_lies_where_it_reaches_these_pages_and_no_others(owner, client_of):
    path = reverse("safety:hurry-worker")
    assert path.rpartition("/")[0] + "/" == reverse("safety:hurry")
    answer = client_of(owner).get(path)
    assert answer.headers["Content-Type"] == "text/javascript; charset=utf-8"
    assert answer.headers["Cache-Control"] == "no-store"
    assert "Service-Worker-Allowed" not in answer.headers
    assert "worker-src 'self'" in answer.headers["Content-Security-Policy"]
    assert 'id="kept-copy" hidden' in answer.content.decode()
    assert KEEP in answer.content.decode()


def test_page_and_worker_name_the_store_alike():
    static = ROOT / "shop" / "static" / "shop"
    for name in ("hurry_worker.js", "draft.js"):
        assert '"kept-hazard-sheets"' in (static / name).read_text()


def test_every_page_leads_there(sheet, visitor, client_of):
    for name in ("morning:today", "people:more", "stock:items", "safety:hazards"):
        shown = client_of(visitor).get(reverse(name)).content.decode()
        assert '<a class="wrong-way" href="/hazards/hurry/">If it goes wrong</a>' in shown
