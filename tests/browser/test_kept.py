"""The daily forms on a bad day: a connection that drops, a sign-in that ends, a press that is repeated."""

from random import Random

from playwright.sync_api import Page, Route, expect

from tests.browser import deeds
from tests.browser.person import Desk
from tests.browser.room import NOTHING_RUNS, Room

CHECK, LOG = "/check/", "/cutting/log-side/"
#: What the browser and htmx write about requests that a test cuts off.
CUT_OFF = ("net::ERR_", ": htmx:")


def kept_on_device(page: Page, words: str) -> None:
    page.wait_for_function("(words) => JSON.stringify(localStorage).includes(words)", arg=words)


def test_half_a_check_outlives_a_dropped_connection(desk: Desk, morning: Room):
    desk.forgiven += CUT_OFF
    page = desk.sit("juno")
    page.goto(CHECK)
    typed = deeds.fill_check(page)
    page.get_by_label("Anything else worth keeping").fill("a hum from the left motor")
    page.route("**" + CHECK, lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    deeds.sign_check(page)
    expect(page.locator("#connection")).to_contain_text("No answer came.")
    expect(page.get_by_role("button", name="Sign the check")).to_be_enabled()
    page.unroute("**" + CHECK)
    page.reload()
    expect(page.get_by_text("was kept and is filled in again")).to_be_visible()
    for name, value in typed.items():
        expect(page.locator(f"input[name={name}]")).to_have_value(value)
    assert page.locator(".check-form input[value=yes]:not(:checked)").count() == 0
    deeds.sign_check(page)
    assert deeds.saved(page).startswith("The check is signed")
    assert morning.ask("SELECT count(*), max(note) FROM morning_check WHERE day = '2027-03-09'") == [
        (1, "a hum from the left motor")
    ]


def test_a_sign_in_that_ends_in_the_middle_of_a_check_loses_nothing(desk: Desk, morning: Room):
    page = desk.sit("juno")
    page.goto(CHECK)
    typed = deeds.fill_check(page)
    morning.tell("DELETE FROM django_session")
    deeds.sign_check(page)
    expect(page).to_have_title("Sign in · Latheside")
    deeds.sign_in(page, "juno")
    expect(page.get_by_role("heading", level=1)).to_have_text("Morning check")
    for name, value in typed.items():
        expect(page.locator(f"input[name={name}]")).to_have_value(value)
    deeds.sign_check(page)
    assert deeds.saved(page).startswith("The check is signed")


def test_a_side_pressed_twice_is_one_side(desk: Desk, day: Room):
    """Once with the script, that drops the second press; once without, where the token does."""
    for script in (True, False):
        day.put_back("day")  # two sides of one lathe would have ended in the same minute
        day.tell(NOTHING_RUNS)
        before = day.ask("SELECT count(*) FROM cutting_side")[0][0]
        page = desk.sit("juno", script=script)
        page.goto(LOG)
        page.get_by_text("Good", exact=True).click()
        page.get_by_role("button", name="Log this side").dblclick(no_wait_after=True)
        deeds.saved(page)
        assert day.ask("SELECT count(*) FROM cutting_side") == [(before + 1,)]


def test_the_same_side_from_two_pages_is_refused_once_it_is_cut(desk: Desk, day: Room):
    """Two people with the same form open: the second is asked before another blank goes."""
    day.tell(NOTHING_RUNS)
    first, second = desk.sit("juno"), desk.sit("ottilie")
    for page in (first, second):
        page.goto("/")
        deeds.first_side_to_log(page)
    deeds.log_good_side(first)
    deeds.saved(first)
    before = day.ask("SELECT count(*) FROM cutting_side")
    deeds.log_good_side(second)
    expect(second.locator("#errors")).to_be_focused()
    assert day.ask("SELECT count(*) FROM cutting_side") == before


def test_going_back_and_pressing_again_is_still_one_record(desk: Desk, day: Room):
    """With the script the page shows what was saved; without, it asks whether this is another."""
    [(solvent,)] = day.ask(
        "SELECT l.id FROM stock_lot l JOIN stock_item i ON i.id = l.item_id WHERE i.name = 'Wiping solvent' "
        "AND on_hand > 1000"
    )

    def use(page: Page) -> None:
        page.locator("[name=quantity]").fill("5 ml")
        page.get_by_role("button", name="Use it").click()

    def count() -> int:
        return int(day.ask("SELECT count(*) FROM stock_movement")[0][0])

    for who, script in (("juno", True), ("ottilie", False)):
        before = count()
        page = desk.sit(who, script=script)
        page.goto(f"/stock/lots/{solvent}/")
        page.get_by_role("link", name="Use", exact=True).click()
        use(page)
        first = deeds.saved(page)
        page.go_back()
        if script:
            expect(page.get_by_text("is saved already")).to_be_visible()
            use(page)
            assert deeds.saved(page) == first
            page.go_back()
            page.get_by_role("button", name="Start afresh").click()
            expect(page.get_by_text("is saved already")).to_be_hidden()
        use(page)
        expect(page.locator("#errors")).to_contain_text("Is this another?")
        assert count() == before + 1
        page.get_by_text("It is right all the same: ").click()
        use(page)
        deeds.saved(page)
        assert count() == before + 2


def test_a_network_that_loses_one_press_in_ten_loses_and_doubles_nothing(desk: Desk, day: Room):
    """Forty records by the real forms; of the presses that are cut off, half had reached the room."""
    desk.forgiven += CUT_OFF
    chance, cuts = Random(20), {"before": 0, "after": 0}

    def unsteady(route: Route) -> None:
        if route.request.method != "POST" or chance.random() > 0.12:
            route.continue_()
        elif chance.random() < 0.5:
            cuts["before"] += 1
            route.abort()
        else:
            cuts["after"] += 1
            route.fetch(max_redirects=0)
            route.abort()

    day.tell(NOTHING_RUNS)
    page = desk.sit("juno")
    page.route("**/*", unsteady)
    sides, uses = 12, 28
    before = day.ask("SELECT count(*) FROM cutting_side")[0][0]
    for number in range(sides):
        page.goto(LOG + "?wanted=none")
        page.get_by_text("Test or reference", exact=True).click()
        page.get_by_label("Cut for").fill("1:30")
        page.get_by_label("Text cut in the run-out").fill(f"try {number}")
        page.get_by_label("Blank from lot").select_option(index=1)
        page.get_by_text("Size, speed, pitch, time, noise, note").click()
        page.get_by_label("When it ended").fill(f"2027-03-09T06:{22 + 2 * number}")
        until_saved(page, "Log this side")
    [(solvent,)] = day.ask(
        "SELECT l.id FROM stock_lot l JOIN stock_item i ON i.id = l.item_id WHERE i.name = 'Wiping solvent' "
        "AND on_hand > 1000"
    )
    for number in range(uses):
        page.goto(f"/stock/lots/{solvent}/use/")
        page.locator("[name=quantity]").fill("5 ml")
        page.get_by_label("Note").fill(f"wipe {number}")
        until_saved(page, "Use it")
    assert cuts["before"] >= 2
    assert cuts["after"] >= 2
    assert day.ask("SELECT count(*) FROM cutting_side")[0][0] == before + sides
    tries = day.ask("SELECT cut_text, count(*) FROM cutting_side WHERE cut_text LIKE 'try %' GROUP BY cut_text")
    assert sorted(tries) == sorted((f"try {number}", 1) for number in range(sides))
    wipes = day.ask("SELECT note, count(*) FROM stock_movement WHERE note GLOB 'wipe [0-9]*' GROUP BY note")
    assert sorted(wipes) == sorted((f"wipe {number}", 1) for number in range(uses))
    assert day.ask(
        "SELECT count(*) FROM stock_lot l WHERE on_hand <> (SELECT sum(change) FROM stock_movement m "
        "WHERE m.lot_id = l.id)"
    ) == [(0,)]


def until_saved(page: Page, words: str) -> None:
    """Press, and press again whenever no answer came, as the page says one may."""
    lost, done = page.locator("#connection:not([hidden])"), page.locator("[data-saved]")
    for _ in range(6):
        page.get_by_role("button", name=words, exact=True).click()
        expect(lost.or_(done).first).to_be_visible()
        if done.count():
            return
        expect(lost).to_contain_text("No answer came. What you typed is kept.")
    raise AssertionError("six presses, and not saved")
