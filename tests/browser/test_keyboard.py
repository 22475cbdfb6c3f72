"""From signing in to a signed check with the keyboard alone, seeing at every step where one is."""

from playwright.sync_api import Page, expect

from shop.demo import cast
from tests.browser import deeds
from tests.browser.person import DESK, Desk
from tests.browser.room import Room

#: What has the focus, and whether one sees it: an outline of at least 2 px on it, or on the words around a tick.
_FOCUS = """() => {
    const e = document.activeElement, around = e.closest("label.choice");
    const drawn = (style) => style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
    const ring = (x) => x && drawn(getComputedStyle(x));
    const box = e.getBoundingClientRect();
    return {
        tag: e.tagName, name: e.name || "", type: e.type || "", value: e.value || "", text: e.textContent.trim(),
        ring: Boolean(ring(e) || ring(around)),
        covered: !e.contains(document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2))
            && !(around && around.contains(document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2))),
    };
}"""


def tab_to(page: Page, *, text: str = "", name: str = "", most: int = 60) -> None:
    """Tab on until that link, button or box has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        found = page.evaluate(_FOCUS)
        assert found["ring"], f"the focus is not seen on {found}"
        assert not found["covered"], f"something lies over {found}"
        if (text and found["text"] == text) or (name and found["name"] == name):
            return
    raise AssertionError(f"{text or name} is not reached in {most} steps")


def test_the_morning_check_by_keyboard(desk: Desk, morning: Room):
    page = desk.sit(size=DESK)
    page.goto("/")
    tab_to(page, name="username")
    page.keyboard.type("juno")
    tab_to(page, name="password")
    page.keyboard.type(cast.PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Tuesday 9 March")

    page.keyboard.press("Tab")
    assert page.evaluate(_FOCUS)["text"] == "Skip to the page"
    page.keyboard.press("Enter")
    tab_to(page, text="Start the morning check")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Morning check")

    for line in page.locator(".check-form .line").all():
        box = line.locator(".box-unit input, input[type=radio]").first
        tab_to(page, name=box.get_attribute("name") or "")
        if box.get_attribute("type") == "radio":
            page.keyboard.press("Space")
            expect(box).to_be_checked()
        else:
            page.keyboard.type(deeds.read_before(line))
    tab_to(page, text="Sign the check")
    page.keyboard.press("Enter")
    assert deeds.saved(page).startswith("The check is signed")


def test_a_folded_part_opens_by_keyboard(desk: Desk, day: Room):
    page = desk.sit("juno", size=DESK)
    page.goto("/cutting/log-side/")
    page.locator("main").focus()
    tab_to(page, text="Size, speed, pitch, time, noise, note")
    page.keyboard.press("Enter")
    tab_to(page, name="disc_in")
    expect(page.locator("[name=disc_in]")).to_be_visible()
