"""A side cut with a phone beside the lathe, from start to outcome, with the connection lost in between."""

from datetime import datetime

from playwright.sync_api import expect

from tests.browser.person import Desk
from tests.browser.room import NOTHING_RUNS, Room
from tests.browser.test_kept import CUT_OFF

START = "/cutting/start-side/"
#: The room that the pages are walked in has a stylus that is old and was heard to be noisy: starting asks about it.
NOTHING_TOLD = (
    "UPDATE cutting_life SET noise_over = false, noise_jumped = false, noise_soonest_s = NULL, "
    "noise_expected_s = NULL, cut_s = 3600 WHERE ended_at IS NULL"
)
HEARD = "UPDATE cutting_life SET noise_over = true WHERE ended_at IS NULL"


def test_a_side_is_cut_through_a_lost_connection(desk: Desk, day: Room):
    """The head comes up while there is none: the time of the press counts, and it is sent once there is one again."""
    desk.forgiven += CUT_OFF
    day.tell(NOTHING_RUNS)
    day.tell(NOTHING_TOLD)
    page = desk.sit("juno")
    page.goto(START)
    page.get_by_role("button", name="The head is down: start").click()
    expect(page.locator("[data-run-time] .run-word")).to_have_text("Running")
    expect(page.locator("[data-run-left]")).to_contain_text("left by the plan")
    address = page.url
    page.reload()
    expect(page.locator("[data-run-time] .run-word")).to_have_text("Running")

    page.context.set_offline(True)
    page.wait_for_timeout(1200)
    page.get_by_role("button", name="The head is up: stop").click()
    expect(page.locator("#connection")).to_contain_text("No answer came.")
    expect(page.locator("[data-pressed]")).to_contain_text("not saved yet")
    expect(page.locator("[data-run-time] .run-word")).to_have_text("Stopped at")
    stood = page.locator("[data-run-time] b").inner_text()
    page.wait_for_timeout(4500)
    expect(page.locator("[data-run-time] b")).to_have_text(stood)
    assert day.ask("SELECT stopped_at FROM cutting_runningside") == [(None,)]
    # Another device sees that it still runs.
    other = desk.sit("caspar")
    other.goto(address)
    expect(other.locator("[data-run-time] .run-word")).to_have_text("Running")

    page.context.set_offline(False)
    expect(page.get_by_role("heading", level=1)).to_have_text("What became of it?")
    [(begun, ended)] = day.ask("SELECT started_at, stopped_at FROM cutting_runningside")
    took = (datetime.fromisoformat(ended) - datetime.fromisoformat(begun)).total_seconds()
    minutes, seconds = (int(part) for part in stood.split(":"))
    assert abs(took - 60 * minutes - seconds) <= 1.5

    page.get_by_text("Test or reference", exact=True).click()
    page.get_by_label("Text cut in the run-out").fill("KITE 1 A")
    page.get_by_role("button", name="Log this side").click()
    expect(page.locator("[data-saved]")).to_contain_text("is logged: test or reference")
    assert day.ask("SELECT outcome, cut_text FROM cutting_side ORDER BY id DESC LIMIT 1") == [("test", "KITE 1 A")]
    # On the device nothing of it is left that could stop another side.
    assert not page.evaluate("Object.keys(localStorage).some((key) => key.startsWith('stop:'))")


def test_without_script_the_page_shows_when_it_was_started(desk: Desk, day: Room):
    day.tell(NOTHING_RUNS)
    day.tell(NOTHING_TOLD)
    page = desk.sit("juno", script=False)
    page.goto(START)
    page.get_by_role("button", name="The head is down: start").click()
    expect(page.locator("[data-run-time]")).to_contain_text("Started")
    expect(page.locator("[data-run-left]")).to_contain_text("By the plan the head comes up after")
    page.get_by_role("button", name="The head is up: stop").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What became of it?")


def test_a_start_pressed_without_a_connection_is_sent_by_itself_and_counts_from_then(desk: Desk, day: Room):
    """Though it is asked about when it comes."""
    desk.forgiven += CUT_OFF
    day.tell(NOTHING_RUNS)
    day.tell(HEARD)
    page = desk.sit("juno")
    page.goto(START)
    expect(page.locator(".heads")).to_contain_text("Change it before the next side.")
    page.context.set_offline(True)
    page.get_by_role("button", name="The head is down: start").click()
    expect(page.locator("[data-pressed]")).to_contain_text("not saved yet")
    page.wait_for_timeout(3000)
    assert day.ask("SELECT COUNT(*) FROM cutting_runningside") == [(0,)]
    page.context.set_offline(False)
    expect(page.get_by_text("it counts from then")).to_be_visible()
    page.get_by_label("The advice about").check()
    page.get_by_role("button", name="The head is down: start").click()
    expect(page.locator("[data-run-time] .run-word")).to_have_text("Running")
    assert int(page.locator("[data-run-time] b").inner_text().split(":")[1]) >= 3
    assert not page.evaluate("Object.keys(localStorage).some((key) => key.startsWith('start:'))")
