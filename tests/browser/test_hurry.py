"""When something has gone wrong: two presses from anywhere, and what is in force also without the network."""

import re
import select
import socket
import threading
from collections.abc import Iterator
from contextlib import suppress

import pytest
from playwright.sync_api import Page, expect

from tests.browser import deeds
from tests.browser.person import DESK, PHONE, Desk, overhang, small
from tests.browser.room import Room

SHEET = "/hazards/hurry/hot-lamp/"


class Line:
    """A wire between the browser and the room that can be cut: a port of its own that hands everything on.

    A browser's own way of going offline does not reach its service workers, so the network itself goes.
    """

    def __init__(self, room: Room) -> None:
        self.there = int(room.address.rpartition(":")[2])
        self.is_up = True
        self.ends: set[socket.socket] = set()
        self.server = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self.server.getsockname()[1]}"
        self.threads = [threading.Thread(target=self._listen, daemon=True)]
        self.threads[0].start()

    def _listen(self) -> None:
        with self.server:
            while True:
                try:
                    near, _ = self.server.accept()
                except OSError:
                    return
                thread = threading.Thread(target=self._hand_on, args=(near,), daemon=True)
                self.threads.append(thread)
                thread.start()

    def _hand_on(self, near: socket.socket) -> None:
        """Hand on what either end says, until one of them has said all."""
        with near, suppress(OSError):
            if not self.is_up:
                return
            with socket.create_connection(("127.0.0.1", self.there)) as far:
                ends = {near, far}
                self.ends |= ends
                try:
                    while said := {one: one.recv(65536) for one in select.select([near, far], [], [])[0]}:
                        for one, words in said.items():
                            (far if one is near else near).sendall(words)
                        if b"" in said.values():
                            return
                finally:
                    self.ends -= ends

    def cut(self) -> None:
        self.is_up = False
        for end in list(self.ends):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def mend(self) -> None:
        self.is_up = True

    def close(self) -> None:
        self.cut()
        with suppress(OSError):
            self.server.shutdown(socket.SHUT_RDWR)
        for thread in self.threads:
            thread.join(10)


@pytest.fixture
def line(day: Room, desk: Desk) -> Iterator[Line]:
    """The room by a wire that can be cut; people sit down at its address."""
    line, address = Line(day), day.address
    day.address = line.address
    desk.forgiven += ["net::ERR", "Failed to load resource"]
    yield line
    desk.leave()
    day.address = address
    line.close()


def kept(page: Page) -> list[str]:
    """The paths that lie in the browser's store, but for style sheets and scripts."""
    found = page.evaluate("""async () => {
        const found = [];
        for (const name of await caches.keys())
            for (const { url } of await (await caches.open(name)).keys()) found.push(new URL(url).pathname);
        return found.filter((path) => !path.startsWith("/static/")).sort();
    }""")
    return list(found)


def fails(page: Page, path: str) -> None:
    """Go there in vain. The browser then goes to a page of its own, which must have come before one goes on."""
    with pytest.raises(Exception, match="ERR_"):
        page.goto(path)
    page.wait_for_url("chrome-error://**")


def visit(page: Page, path: str) -> None:
    page.goto(path)
    expect(page.locator("#kept-here")).to_contain_text("Kept on this device")


@pytest.mark.parametrize("size", [PHONE, DESK, (320, 640)])
@pytest.mark.parametrize("start", ["/", "/cutting/log-side/", "/stock/ledger/", "/people/more/"])
def test_two_presses_from_any_page(desk: Desk, day: Room, size: tuple[int, int], start: str):
    page = desk.sit("juno", size=size)
    page.goto(start)
    page.get_by_role("link", name="If it goes wrong").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("If it goes wrong")
    page.wait_for_load_state()
    assert small(page, ".hurry-list a", 44) == []
    assert overhang(page) == []
    page.get_by_role("link", name="Hot lamp").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Hot lamp")
    page.wait_for_load_state()
    first = page.locator(".hurry-first")
    expect(first.get_by_role("heading", name="If it burns")).to_be_attached()
    order = page.locator("main h2").all_inner_texts()
    assert order.index("If it burns") < order.index("What can hurt you")
    assert overhang(page) == []
    assert desk.flaws(page) == []


def test_a_sheet_in_force_opens_without_the_network_with_its_date(desk: Desk, line: Line, day: Room):
    page = desk.sit("juno", keeps=True)
    visit(page, SHEET)
    expect(page.locator("#kept-copy")).to_be_hidden()
    assert kept(page) == [SHEET]
    line.cut()
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Hot lamp")
    expect(page.get_by_text("Never look into it.")).to_be_visible()
    note = page.locator("#kept-copy")
    expect(note).to_be_visible()
    assert re.search(r"No network\. This is the copy .*, as of 9 March 2027, 08:\d\d\.", note.inner_text())
    assert page.locator(".hurry-head").evaluate("e => getComputedStyle(e).backgroundColor") != "rgba(0, 0, 0, 0)"
    for other in ("/", "/hazards/", "/hazards/sheets/hot-lamp/", "/stock/"):
        fails(page, other)


def test_the_list_keeps_every_sheet_in_force_and_nothing_else(desk: Desk, line: Line, day: Room):
    page = desk.sit("juno", keeps=True)
    visit(page, "/hazards/hurry/")
    named = [link.get_attribute("href") for link in page.locator("a[data-keep]").all()]
    assert SHEET in named
    assert kept(page) == sorted(["/hazards/hurry/", *[str(one) for one in named]])
    line.cut()
    page.reload()
    page.get_by_role("link", name="Hot lamp").click()
    expect(page.locator("#kept-copy")).to_be_visible()


def test_with_the_network_it_is_never_the_copy(desk: Desk, line: Line, day: Room):
    page = desk.sit("juno", keeps=True)
    visit(page, SHEET)
    day.tell("UPDATE safety_hazardsheet SET is_active = 0 WHERE slug = 'hot-lamp'")
    page.reload()
    expect(page.get_by_text("This sheet is no longer kept. It is not in force.")).to_be_visible()
    expect(page.locator("#kept-copy")).to_be_hidden()
    page.wait_for_function("async () => !(await caches.match(location.href))")
    line.cut()
    fails(page, SHEET)
    line.mend()
    day.tell("UPDATE safety_hazardsheet SET is_active = 1 WHERE slug = 'hot-lamp'")
    visit(page, SHEET)
    assert kept(page) == [SHEET]


def test_a_copy_holds_nothing_about_whoever_looked(desk: Desk, line: Line, day: Room):
    page = desk.sit("juno", keeps=True)
    visit(page, SHEET)
    text = page.evaluate("async () => (await caches.match(location.href)).text()")
    names = day.ask("SELECT name, sign_in FROM people_person")
    assert len(names) >= 4
    assert [word for row in names for word in row if word in text] == []
    assert "csrf" not in text


def test_signing_out_lets_all_copies_go(desk: Desk, line: Line, day: Room):
    page = desk.sit("juno", size=DESK, keeps=True)
    visit(page, SHEET)
    page.goto("/")
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    page.wait_for_function("async () => (await caches.keys()).length === 0")
    line.cut()
    fails(page, SHEET)


def test_whose_sign_in_has_ended_finds_no_copy_either(desk: Desk, line: Line, day: Room):
    page = desk.sit("juno", keeps=True)
    visit(page, SHEET)
    page.context.clear_cookies()
    page.goto(SHEET)
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    page.wait_for_function("async () => (await caches.keys()).length === 0")
    deeds.sign_in(page, "juno")
    expect(page.get_by_role("heading", level=1)).to_have_text("Hot lamp")


def test_it_works_without_any_script(desk: Desk, day: Room):
    page = desk.sit("juno", script=False)
    page.goto("/")
    page.get_by_role("link", name="If it goes wrong").click()
    page.get_by_role("link", name="Hot lamp").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Hot lamp")
    expect(page.locator("#kept-copy")).to_be_hidden()
