"""The way through the house on a phone: one line of pages, and the box to trace with."""

import pytest

from tests.browser.person import PHONE, Desk, overhang
from tests.browser.room import Room

SIZES = (PHONE, (320, 640))


@pytest.mark.parametrize("size", SIZES, ids=["390", "320"])
def test_the_pages_of_stock_are_one_line_that_opens_at_the_page_one_is_on(desk: Desk, day: Room, size):
    page = desk.sit("juno", size=size)
    for path, label in (
        ("/stock/", "On hand"),
        ("/stock/suppliers/", "Suppliers"),
        ("/stock/in-and-out/", "In and out"),
    ):
        page.goto(path)
        line = page.get_by_role("navigation", name="Stock")
        assert line.bounding_box()["height"] == 44
        here = line.locator("[aria-current]")
        assert here.inner_text() == label
        box = here.bounding_box()
        assert 0 <= box["x"] < box["x"] + box["width"] <= size[0]
        assert overhang(page) == []


def test_without_script_every_page_of_the_line_is_reached_by_the_keyboard(desk: Desk, day: Room):
    page = desk.sit("juno", script=False)
    page.goto("/stock/")
    last = page.get_by_role("navigation", name="Stock").get_by_role("link").last
    last.focus()
    box = last.bounding_box()
    assert 0 <= box["x"] < box["x"] + box["width"] <= PHONE[0]


@pytest.mark.parametrize("size", SIZES, ids=["390", "320"])
def test_a_lot_code_is_traced_from_a_page_of_stock(desk: Desk, day: Room, size):
    page = desk.sit("juno", size=size)
    page.goto("/stock/lots/")
    code = page.locator("main td a[href*='/stock/lots/']").first.inner_text()
    box = page.get_by_role("searchbox")
    assert box.bounding_box()["height"] >= 44
    assert page.locator(".head").bounding_box()["height"] < 64  # it stands in the line of the name
    box.fill(code)
    box.press("Enter")
    page.wait_for_url("**/cutting/trace/**")
    assert code in page.locator("main").inner_text()
    room = page.locator(".mark-words b").text_content()
    assert page.get_by_role("link", name=room).count() == 1  # the way home keeps its name, though it shows none
