"""The door in a real browser, through the room's own server: invitation, second step, the shared tablet."""

import re
from datetime import UTC, datetime, timedelta
from io import BytesIO

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Page, expect

from shop import clock
from shop.demo import cast
from shop.people import second_factor
from tests.browser import deeds
from tests.browser.person import PHONE, Desk, look, overhang, small
from tests.browser.room import Room

TABLET = (820, 1180)
SETTINGS = "/people/settings/"
#: A person's own password, chosen by invitation.
NEW = "four warm words in wax"
CODE, HIS = "482915", "615204"


def is_for_everybody(desk: Desk, page: Page) -> None:
    for width, dark in ((360, False), (1280, True)):
        look(page, width, dark=dark)
        assert desk.flaws(page) == []
    look(page, 320)
    assert overhang(page) == []
    assert small(page, "main :is(input, button), .button, .button-plain, .swap button", 44) == []


def set_code(page: Page, code: str) -> None:
    page.goto("/people/signing-in/personal-code/")
    page.get_by_label("Personal code", exact=True).fill(code)
    page.get_by_label("Password now").fill(cast.PASSWORD)
    page.get_by_role("button", name="Set it").click()
    deeds.saved(page)


@pytest.fixture
def tablet(desk: Desk, day: Room) -> Page:
    """A tablet that the owner named as shared and left; caspar and juno have codes."""
    for who, code in (("juno", CODE), ("caspar", HIS)):
        set_code(desk.sit(who), code)
    page = desk.sit("ottilie", size=TABLET)
    page.goto("/people/devices/name/")
    page.get_by_label("What you call it").fill("The tablet by the lathe")
    page.get_by_role("button", name="Share this device").click()
    deeds.saved(page)
    page.get_by_role("button", name=re.compile("Change person")).click()
    expect(page).to_have_title("Change person · Latheside")
    return page


def come(page: Page, name: str, code: str) -> None:
    page.get_by_label("Your personal code").fill(code)
    page.get_by_role("button", name=name).click()


# Invited --------------------------------------------------------------------------------------------------------------


def test_somebody_invited_comes_in_and_signs_in_again(desk: Desk, day: Room):
    owner = desk.sit("ottilie")
    owner.goto("/people/invite/")
    owner.get_by_label("Name", exact=True).fill("Ilse Brandt-Okoro")
    owner.get_by_label("Assistant").check()
    owner.get_by_role("button", name="Make the link").click()
    link = owner.locator("code.secret").inner_text()
    assert link.startswith(day.address + "/people/invitation/")
    is_for_everybody(desk, owner)

    guest = desk.sit()
    guest.goto(link)
    is_for_everybody(desk, guest)
    look(guest, PHONE[0])
    guest.get_by_label("Sign-in name").fill("ilse")
    guest.get_by_label("Password", exact=True).fill("too short")
    guest.get_by_role("button", name="Come in").click()
    expect(guest).to_have_title(re.compile("^Error: "))
    expect(guest.get_by_label("Sign-in name")).to_have_value("ilse")
    guest.get_by_label("Password", exact=True).fill(NEW)
    guest.get_by_role("button", name="Come in").click()
    expect(guest.locator("[data-saved]")).to_contain_text("Welcome, Ilse Brandt-Okoro.")

    desk.forgiven.append("status of 410")
    late = desk.sit()
    late.goto(link)
    expect(late.get_by_text("This invitation was used already.")).to_be_visible()
    late.goto("/people/sign-in/")
    late.get_by_label("Sign-in name").fill("ilse")
    late.get_by_label("Password").fill(NEW)
    late.get_by_role("button", name="Sign in").click()
    expect(late.get_by_role("heading", level=1)).to_be_visible()
    late.goto("/people/signing-in/")
    expect(late.locator(".doors li")).to_have_count(2)
    is_for_everybody(desk, late)


# The password's box ---------------------------------------------------------------------------------------------------


def test_a_password_can_be_shown_while_it_is_typed_and_goes_out_hidden(desk: Desk, day: Room):
    page = desk.sit()
    page.goto("/people/sign-in/")
    box = page.get_by_label("Password", exact=True)
    box.fill("not it at all, no")
    show = page.get_by_role("button", name="Show what is typed")
    show.click()
    expect(box).to_have_attribute("type", "text")
    expect(box).to_have_value("not it at all, no")
    page.get_by_role("button", name="Hide what is typed").click()
    expect(box).to_have_attribute("type", "password")
    show.click()
    is_for_everybody(desk, page)
    page.get_by_label("Sign-in name").fill("juno")
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_title("Error: Sign in · Latheside")
    expect(page.get_by_label("Password", exact=True)).to_have_attribute("type", "password")


def test_a_password_that_is_shown_is_kept_on_no_device(desk: Desk, day: Room):
    page = desk.sit("ottilie")
    page.goto("/people/add/")
    page.get_by_label("First password").fill(NEW)
    page.get_by_role("button", name=re.compile("Show")).click()
    page.get_by_label("Name", exact=True).fill("Zeb")
    page.get_by_label("First password").press("End")
    page.goto("/people/more/")  # what was typed is kept on leaving
    assert NEW not in page.evaluate("JSON.stringify(localStorage)")


def test_a_password_is_pasted(desk: Desk, day: Room):
    page = desk.sit()
    page.goto("/people/sign-in/")
    page.get_by_label("Sign-in name").fill(cast.PASSWORD)
    page.get_by_label("Sign-in name").press("ControlOrMeta+a")
    page.keyboard.press("ControlOrMeta+x")
    page.get_by_label("Password", exact=True).click()
    page.keyboard.press("ControlOrMeta+v")
    page.get_by_label("Sign-in name").fill("juno")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("navigation", name="Main")).to_be_visible()


def test_without_script_there_is_no_button_that_does_nothing(desk: Desk, day: Room):
    page = desk.sit(script=False)
    page.goto("/people/sign-in/")
    expect(page.locator(".show-secret")).to_have_count(0)
    deeds.sign_in(page, "juno")
    expect(page).not_to_have_title("Sign in · Latheside")


# The second factor ----------------------------------------------------------------------------------------------------


def server_now(room: Room) -> datetime:
    """What time it is to the room's server, which stands at another day than this machine: that of the last press."""
    return datetime.fromisoformat(room.ask("SELECT max(at) FROM press_press")[0][0]).replace(tzinfo=UTC)


def code_of(secret: str, now: datetime, later: int = 0) -> str:
    with clock.moved(now + timedelta(seconds=30 * later)):
        return second_factor.code_at(secret, second_factor.step_now())


def turn_on(page: Page, room: Room) -> tuple[str, list[str], datetime]:
    """On the page of whoever has just pressed something; gives the secret, the recovery codes and the server's time."""
    now = server_now(room)
    page.goto("/people/signing-in/second-factor/on/")
    secret = page.locator("code.secret").inner_text().replace(" ", "")
    page.get_by_label("Code that the app shows").fill(code_of(secret, now))
    page.get_by_label("Password now").fill(cast.PASSWORD)
    page.get_by_role("button", name="Turn it on").click()
    expect(page).to_have_title("Recovery codes · Latheside")
    return secret, page.locator(".recovery code").all_inner_texts(), now


def test_a_second_factor_is_turned_on_and_asked_for_and_what_was_typed_outlives_an_ended_sign_in(desk: Desk, day: Room):
    page = desk.sit("juno")
    set_code(page, CODE)
    secret, recovery, now = turn_on(page, day)
    assert len(recovery) == 10
    is_for_everybody(desk, page)
    look(page, PHONE[0])

    page.goto(SETTINGS)
    page.get_by_label("psi").check()
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Save my units").click()
    expect(page).to_have_title("Sign in · Latheside")
    deeds.sign_in(page, "juno")
    expect(page).to_have_title("Second step · Latheside")
    is_for_everybody(desk, page)
    page.get_by_label("Code", exact=True).fill("000 000")
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_title("Error: Second step · Latheside")
    page.get_by_label("Code", exact=True).fill(code_of(secret, now, 1))
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_title("My settings · Latheside")
    expect(page.get_by_label("psi")).to_be_checked()
    page.get_by_role("button", name="Save my units").click()
    deeds.saved(page)
    assert day.ask("SELECT pressure_unit FROM people_person WHERE sign_in = 'juno'") == [("psi",)]

    other = desk.sit(script=False)
    other.goto("/people/sign-in/")
    deeds.sign_in(other, "juno")
    other.get_by_label("Code", exact=True).fill(recovery[0])
    other.get_by_role("button", name="Sign in").click()
    other.goto("/people/signing-in/")
    expect(other.get_by_text("9 recovery codes left")).to_be_visible()


def test_the_picture_for_the_app_holds_what_stands_beside_it(desk: Desk, day: Room):
    page = desk.sit("juno", dark=True)
    page.goto("/people/signing-in/second-factor/on/")
    drawn = Image.open(BytesIO(page.locator(".factor-picture").screenshot()))
    read = zxingcpp.read_barcode(drawn)
    assert read is not None
    secret = page.locator("code.secret").inner_text().replace(" ", "")
    assert read.text.startswith("otpauth://totp/")
    assert f"secret={secret}" in read.text
    is_for_everybody(desk, page)


def test_an_owner_who_needs_one_sets_it_up_before_anything_else(desk: Desk, day: Room):
    page = desk.sit("ottilie")
    page.goto("/people/room/signing-in/")
    page.get_by_label("Owners need a second factor").check()
    page.get_by_role("button", name="Save").click()
    expect(page).to_have_title("Turn on the second factor · Latheside")
    is_for_everybody(desk, page)
    turn_on(page, day)
    page.get_by_role("link", name="I have them").click()
    expect(page.get_by_text("10 recovery codes left")).to_be_visible()


# The shared tablet ----------------------------------------------------------------------------------------------------


def test_two_presses_change_places_from_any_page(desk: Desk, tablet: Page):
    is_for_everybody(desk, tablet)
    look(tablet, *TABLET[:1], height=TABLET[1])
    come(tablet, "Juno Applewhist", CODE)
    tablet.goto("/stock/?kind=blank")
    is_for_everybody(desk, tablet)
    look(tablet, *TABLET[:1], height=TABLET[1])
    presses = []
    tablet.on("request", lambda request: presses.append(request.url) if request.method == "POST" else None)
    tablet.get_by_role("button", name=re.compile("Change person")).click()
    come(tablet, "Caspar Wrenfeather", HIS)
    expect(tablet.get_by_role("button", name=re.compile("Caspar Wrenfeather.*Change person"))).to_be_visible()
    assert tablet.url.endswith("/stock/?kind=blank")
    assert len(presses) == 2


def test_a_wrong_code_says_so_and_enter_presses_no_name(desk: Desk, tablet: Page):
    tablet.get_by_label("Your personal code").fill("739164")
    tablet.keyboard.press("Enter")
    tablet.wait_for_timeout(300)
    expect(tablet).to_have_title("Change person · Latheside")
    come(tablet, "Juno Applewhist", "739164")
    expect(tablet).to_have_title("Error: Change person · Latheside")
    expect(tablet.get_by_role("alert")).to_contain_text("That is not the code of Juno Applewhist.")
    is_for_everybody(desk, tablet)
    look(tablet, *TABLET[:1], height=TABLET[1])
    come(tablet, "Juno Applewhist", CODE)
    expect(tablet.get_by_role("button", name=re.compile("Juno Applewhist.*Change person"))).to_be_visible()


def test_what_one_typed_is_there_when_one_comes_back_and_nobody_elses(tablet: Page):
    come(tablet, "Juno Applewhist", CODE)
    tablet.goto(SETTINGS)
    tablet.get_by_label("psi").check()
    tablet.get_by_role("button", name=re.compile("Change person")).click()
    come(tablet, "Caspar Wrenfeather", HIS)
    expect(tablet).to_have_title("My settings · Latheside")
    expect(tablet.get_by_text("was kept and is filled in again")).to_be_hidden()
    tablet.get_by_role("button", name=re.compile("Change person")).click()
    come(tablet, "Juno Applewhist", CODE)
    expect(tablet.get_by_text("was kept and is filled in again")).to_be_visible()
    expect(tablet.get_by_label("psi")).to_be_checked()


def test_it_warns_and_locks_when_left_alone_and_what_was_typed_is_kept(desk: Desk, tablet: Page):
    tablet.clock.install()
    come(tablet, "Juno Applewhist", CODE)
    tablet.goto(SETTINGS)
    tablet.get_by_label("psi").check()
    warning = tablet.get_by_role("alert").filter(has_text="it locks in half a minute")
    tablet.clock.run_for(4 * 60_000)
    expect(warning).to_be_hidden()
    tablet.clock.run_for(40_000)
    expect(warning).to_be_visible()
    assert desk.flaws(tablet) == []
    tablet.mouse.click(400, 1100)  # whoever is still there touches it
    expect(warning).to_be_hidden()
    tablet.clock.run_for(4 * 60_000 + 40_000)
    expect(warning).to_be_visible()
    tablet.clock.run_for(25_000)
    expect(tablet).to_have_title("Change person · Latheside")
    come(tablet, "Juno Applewhist", CODE)
    expect(tablet).to_have_title("My settings · Latheside")
    expect(tablet.get_by_label("psi")).to_be_checked()


def test_a_sign_in_that_ended_on_it_leads_to_the_names_and_back(tablet: Page, day: Room):
    """The server locks too, were the script to fail: a press after that is not done, and nothing typed is lost."""
    come(tablet, "Juno Applewhist", CODE)
    tablet.goto(SETTINGS)
    tablet.get_by_label("psi").check()
    day.tell("DELETE FROM django_session")
    tablet.get_by_role("button", name="Save my units").click()
    expect(tablet).to_have_title("Change person · Latheside")
    come(tablet, "Juno Applewhist", CODE)
    expect(tablet).to_have_title("My settings · Latheside")
    expect(tablet.get_by_label("psi")).to_be_checked()
    tablet.get_by_role("button", name="Save my units").click()
    deeds.saved(tablet)


def test_a_code_opens_an_owners_page_only_with_the_password(desk: Desk, day: Room, tablet: Page):
    owner = desk.sit()
    owner.goto("/people/sign-in/")  # the tablet had her other sign-in, which is over
    deeds.sign_in(owner, "ottilie")
    set_code(owner, "904371")
    tablet.reload()
    come(tablet, "Ottilie Brackenfold", "904371")
    tablet.goto("/people/invite/")
    expect(tablet).to_have_title("Your password, once more · Latheside")
    is_for_everybody(desk, tablet)
    tablet.get_by_label("Password", exact=True).fill(cast.PASSWORD)
    tablet.get_by_role("button", name="Go on").click()
    expect(tablet).to_have_title("Invite somebody · Latheside")


def test_on_a_phone_the_way_to_change_is_there_too(desk: Desk, tablet: Page):
    come(tablet, "Juno Applewhist", CODE)
    look(tablet, 320)
    expect(tablet.get_by_role("button", name=re.compile("Change person"))).to_be_in_viewport()
    assert overhang(tablet) == []
