"""What people do in these tests, step by step, by the words on the page."""

import re

from playwright.sync_api import Locator, Page, expect

from shop.demo import cast


def sign_in(page: Page, who: str) -> None:
    page.get_by_label("Sign-in name").fill(who)
    page.get_by_label("Password").fill(cast.PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def fill_check(page: Page, *, also: dict[str, str] | None = None) -> dict[str, str]:
    """Answer yes everywhere and type what was read the day before; give what was typed, by the box's name.

    also: other values for some readings, by their label.
    """
    for question in page.locator(".check-form fieldset.field").all():
        question.get_by_text("Yes", exact=True).click()
    typed, labels = {}, set()
    for line in page.locator(".check-form .line-reading").all():
        box = line.locator(".box-unit input")
        label = line.locator("label").first.inner_text().partition(",")[0].strip()
        name = box.get_attribute("name") or ""
        typed[name] = (also or {}).get(label, read_before(line))
        box.fill(typed[name])
        labels.add(label)
    assert set(also or {}) <= labels
    return typed


def read_before(line: Locator) -> str:
    """The number written under the box of a reading."""
    words = line.locator(".hint-before").inner_text()
    found = re.search(r": ([−-]?[\d.,]+)", words)
    assert found, words
    return found[1].replace(",", "")


def sign_check(page: Page) -> None:
    page.get_by_role("button", name="Sign the check").click()


def first_side_to_log(page: Page) -> None:
    """From today's page to the form for the first side that is to be cut."""
    page.get_by_role("link", name=re.compile("^Log it")).first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Log a side")


def log_good_side(page: Page) -> None:
    page.get_by_text("Good", exact=True).click()
    page.get_by_role("button", name="Log this side").click()


def saved(page: Page) -> str:
    """What the page says was saved."""
    note = page.locator("[data-saved]")
    expect(note).to_be_visible()
    return note.inner_text()
