"""Every page, in a room at work and in an empty one: for everybody to read, on every screen, asking nobody else."""

import pytest
from django.urls import NoReverseMatch, reverse

from tests.browser.person import Desk, look, overhang, small
from tests.browser.room import Room
from tests.browser.scenes import NO_PAGE, SCENES
from tests.house.permissions import PERMISSIONS
from tests.house.world import addresses

#: What is used every day, standing: the check, logging a side, today and the bar under the thumb.
DAILY = {
    "morning:today",
    "morning:make-check",
    "cutting:log-side",
    "room:take-readings",
    "duties:due",
    "duties:do-duty",
}
#: Seen at every width in both themes; the others at the narrowest in light and at the desk in the dark.
CLOSELY = {
    *DAILY,
    "stock:items",
    "stock:ledger",
    "cutting:stylus",
    "room:room",
    "morning:check",
    "duties:duty",
    "duties:month",
}
FILES = {
    "application/pdf",
    "image/jpeg",
    "application/json",
    "text/calendar",
    "text/csv",
    "text/plain",
    "text/javascript",
}
PAGES = sorted(name for name in addresses() if name not in NO_PAGE)


def path(room: Room, name: str) -> str:
    return room.paths[name] if name in SCENES else reverse(name)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_of_a_working_room(desk: Desk, day: Room, name: str):
    stranger = PERMISSIONS[name].stranger
    page = desk.sit_again("" if stranger else "ottilie", size=(360, 844))
    answer = page.goto(path(day, name))
    assert answer is not None
    assert answer.status == 200
    _is_for_everybody(desk, page, closely=name in CLOSELY, daily=name in DAILY)


#: Pages that need no record, which a room that was just opened shows too.
PLAIN = [name for name in PAGES if name not in SCENES]


@pytest.mark.parametrize("name", PLAIN)
def test_a_page_of_an_empty_room(desk: Desk, bare: Room, name: str):
    page = desk.sit_again("" if PERMISSIONS[name].stranger else "ottilie", size=(360, 844))
    answer = page.goto(path(bare, name))
    assert answer is not None
    assert answer.status == 200
    _is_for_everybody(desk, page)


@pytest.mark.parametrize("name", ["morning:today", "morning:make-check", "cutting:log-side"])
def test_a_page_before_the_check(desk: Desk, morning: Room, name: str):
    page = desk.sit_again("juno", size=(360, 844))
    page.goto(path(morning, name))
    _is_for_everybody(desk, page, daily=True)


@pytest.mark.parametrize("name", ["morning:today", "stock:lot", "cutting:booking", "room:room", "people:more"])
def test_a_page_for_a_visitor_in_other_units(desk: Desk, day: Room, name: str):
    for who in ("pim", "caspar"):
        page = desk.sit_again(who, size=(360, 844))
        page.goto(path(day, name))
        _is_for_everybody(desk, page)


@pytest.mark.parametrize("where", ["/nowhere/", "/people/sign-out/", "/people/add/"])
def test_a_page_of_refusal(desk: Desk, day: Room, where: str):
    desk.forgiven += ["status of 404", "status of 405", "status of 403"]
    page = desk.sit_again("juno", size=(360, 844))
    answer = page.goto(where)
    assert answer is not None
    assert answer.status in (403, 404, 405)
    _is_for_everybody(desk, page)
    assert page.locator("main a").count() >= 1, "it leads nowhere"


def _is_for_everybody(desk: Desk, page, *, closely: bool = False, daily: bool = False) -> None:
    assert page.title().endswith(" · Latheside")
    assert page.locator("h1").count() == 1
    looks = [(360, False), (1280, True)]
    if closely:
        looks += [(360, True), (768, False), (768, True), (1280, False)]
    for width, dark in looks:
        look(page, width, dark=dark)
        assert desk.flaws(page) == [], f"at {width} px, {'dark' if dark else 'light'}"
    look(page, 320)
    assert overhang(page) == []
    look(page, 390)
    if daily:
        assert (
            small(page, "main :is(.form, .check-form) :is(input, select, textarea, button, summary), .button", 44) == []
        )
    assert small(page, ".rail a, .head a, .pages a, .card > :is(h2, h3) > a, .stores dt a, .table td > a", 44) == []
    lines = ".care-what :is(h2, h3, h4) > a, .concern :is(h2, h3, h4) > a, .concern-do a, .settled a"
    assert small(page, lines, 44) == []
    look(page, 640)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert overhang(page) == [], "with text twice as large"


def test_every_address_has_a_scene_or_needs_none():
    """An address that takes a value must say which record it is opened on."""
    names = set(addresses())
    assert set(SCENES) | set(NO_PAGE) <= names
    missing = []
    for name in names - set(SCENES):
        try:
            reverse(name)
        except NoReverseMatch:
            missing.append(name)
    assert missing == []


@pytest.mark.parametrize("name", sorted(NO_PAGE))
def test_what_shows_no_page_shows_none(desk: Desk, day: Room, name: str):
    page = desk.sit_again("ottilie")
    answer = page.request.get(path(day, name), max_redirects=0)
    if NO_PAGE[name] == "takes presses only":
        assert answer.status == 405
    elif NO_PAGE[name] == "leads on":
        assert answer.status == 302
    elif NO_PAGE[name] == "asks for an instrument's token":
        assert answer.status == 401
    else:
        assert answer.headers["content-type"].partition(";")[0] in FILES
