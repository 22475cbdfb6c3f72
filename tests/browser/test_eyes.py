"""The eyes of these tests see: each finds a flaw that is put before it."""

from tests.browser.person import Desk, look, overhang, small
from tests.browser.room import Room


def plant(page, markup: str) -> None:
    page.evaluate("(markup) => document.querySelector('main').insertAdjacentHTML('beforeend', markup)", markup)


def test_axe_finds_a_box_without_a_name_and_words_that_are_too_pale(desk: Desk, day: Room):
    page = desk.sit("juno")
    page.goto("/people/settings/")
    assert desk.flaws(page) == []
    plant(page, "<input type=text>")
    assert [flaw for flaw in desk.flaws(page) if flaw.startswith("label: ")]
    page.evaluate("document.querySelector('h1').style.color = '#d0d0d0'")
    assert [flaw for flaw in desk.flaws(page) if flaw.startswith("color-contrast: ")]


def test_what_sticks_out_is_named(desk: Desk, day: Room):
    page = desk.sit("juno")
    page.goto("/people/settings/")
    look(page, 320)
    plant(page, "<p class='broad'>wide</p>")
    page.evaluate("document.querySelector('.broad').style.width = '500px'")
    page.evaluate("document.querySelector('main').style.overflow = 'visible'")
    assert any("p.broad" in line for line in overhang(page))


def test_a_small_target_is_named(desk: Desk, day: Room):
    page = desk.sit("juno")
    page.goto("/people/settings/")
    plant(page, "<p class='probe'><button>x</button></p>")
    page.evaluate("document.querySelector('.probe button').style.cssText = 'height: 20px; width: 60px; padding: 0'")
    assert small(page, ".probe button", 24) == ["BUTTON “x” 60 x 20"]


def test_a_breach_of_the_policy_and_a_request_to_elsewhere_are_heard(desk: Desk, day: Room):
    page = desk.sit("juno")
    page.goto("/people/settings/")
    plant(page, "<p style='color: red'>inline</p><img alt='' src='http://127.0.0.2:9/a.png'>")
    page.evaluate("setTimeout(() => { throw new Error('a slip'); })")
    for words in (
        "policy: style-src-attr stopped inline",
        "policy: img-src stopped http://127.0.0.2:9/a.png",
        "error: a slip",
    ):
        for _ in range(100):
            if words in " ".join(desk.heard).replace("Error: ", ""):
                break
            page.wait_for_timeout(100)
        else:
            raise AssertionError(f"{words} was not heard; heard: {desk.heard}")
    desk.heard.clear()
