"""What the pages of the morning weigh on a slow line: counted as it goes over the wire."""

from typing import Any

import pytest
from playwright.sync_api import CDPSession, Page

from tests.browser.person import PHONE, Desk
from tests.browser.room import Room

KB = 1000
FIRST, SCRIPT, AGAIN, REQUESTS = 150 * KB, 40 * KB, 30 * KB, 15


class Scales:
    """The answers to one load of a page: bytes with their headings, by kind."""

    def __init__(self, page: Page) -> None:
        self.kinds: dict[str, str] = {}
        self.weights: dict[str, float] = {}
        wire: CDPSession = page.context.new_cdp_session(page)
        wire.send("Network.enable")
        wire.on("Network.requestWillBeSent", self._asked)
        wire.on("Network.requestServedFromCache", lambda said: self.kinds.pop(said["requestId"], None))
        wire.on("Network.loadingFinished", self._came)

    def _asked(self, said: dict[str, Any]) -> None:
        self.kinds[said["requestId"]] = said.get("type", "")

    def _came(self, said: dict[str, Any]) -> None:
        self.weights[said["requestId"]] = said["encodedDataLength"]

    def empty(self) -> None:
        self.kinds.clear()
        self.weights.clear()

    def total(self, kind: str = "") -> float:
        return sum(weight for key, weight in self.weights.items() if not kind or self.kinds.get(key) == kind)


@pytest.mark.parametrize(("who", "path"), [("", "/people/sign-in/"), ("juno", "/"), ("juno", "/check/")])
def test_a_first_look_and_the_next(desk: Desk, day: Room, who: str, path: str):
    page = desk.sit(who, size=PHONE)
    scales = Scales(page)
    page.goto(path, wait_until="networkidle")
    assert 2 * KB < scales.total() <= FIRST
    assert 1 * KB < scales.total("Script") <= SCRIPT
    assert 5 < len(scales.kinds) <= REQUESTS
    scales.empty()
    page.goto(path, wait_until="networkidle")
    assert 1 * KB < scales.total() <= AGAIN


_SHIFTS = """
window.shifts = [];
new PerformanceObserver((list) => list.getEntries().forEach((e) => window.shifts.push(e.value)))
    .observe({ type: "layout-shift", buffered: true });
"""


@pytest.mark.parametrize("path", ["/", "/check/", "/cutting/log-side/", "/stock/ledger/", "/room/"])
def test_nothing_jumps_while_a_page_comes(desk: Desk, day: Room, path: str):
    page = desk.sit("juno", size=PHONE)
    page.context.add_init_script(_SHIFTS)
    page.goto(path, wait_until="networkidle")
    assert page.evaluate("window.shifts.reduce((sum, one) => sum + one, 0)") <= 0.02
