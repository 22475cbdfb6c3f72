"""A form that is refused, on every page that has one: said where one looks first, and nothing typed is gone."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.browser import deeds
from tests.browser.person import Desk, look, overhang
from tests.browser.room import Room
from tests.browser.scenes import NO_PAGE, SCENES
from tests.house.permissions import PERMISSIONS

#: Pages whose presses have no boxes: stopping a side, the arrows of the list of questions, a link out of mail, a secret
#: made anew; and agreeing to a count whose differences have no reasons yet, which shows none. Starting a count beside
#: two others asks.
WITHOUT = {
    *NO_PAGE,
    "cutting:stop-side",
    "morning:change-questions",
    "safety:make-binder",
    "stock:agree-count",
    "stock:start-count",
    "watch:leave",
    "watch:renew-feed",
}
#: Pages that take presses, each with one form.
FORMS = sorted(name for name, may in PERMISSIONS.items() if may.press and may.look and name not in WITHOUT)

#: Forms of which nothing is required: pressed with empty boxes they are saved.
MAY_BE_EMPTY = {
    "cutting:cancel-booking",
    "cutting:change-cost-figures",
    "cutting:change-stylus",
    "cutting:note-arrival",
    "cutting:send-after-all",
    "cutting:reinstate-stylus",
    "cutting:reopen-booking",
    "duties:change-meter",
    "duties:reset-meter",
    "duties:resume-duty",
    "people:end-device",
    "people:settings",
    "people:take-off-second-factor",
    "people:withdraw-invitation",
    "room:change-chip-can",
    "room:change-cylinder",
    "room:change-limit",
    "room:return-cylinder",
    "room:revoke-instrument",
    "safety:approve-sheet",
    "safety:change-exposure-limits",
    "safety:change-kept",
    "safety:change-properties",
    "safety:change-statements",
    "safety:drop-draft",
    "safety:keep-call-numbers",
    "safety:keep-extinguishers",
    "safety:keep-shut-offs",
    "safety:resume-place",
    "safety:resume-sheet",
    "safety:resume-substance",
    "safety:set-open-days",
    "safety:stop-place",
    "safety:stop-sheet",
    "safety:stop-substance",
    "stock:change-order",
    "stock:draft-order",
    "stock:drop-count",
    "stock:drop-order",
    "stock:explain-count",
    "stock:reverse-movement",
    "stock:send-order",
    "training:resume-act",
    "training:resume-programme",
    "training:resume-step",
    "training:stop-act",
    "watch:close-feed",
    "watch:set-line",
    "watch:take-alert",
}
#: Of those, and of others besides, what is refused all the same: what is typed, the last of it wrong.
WRONG = {
    "cutting:take-off-stylus": {"at": "2031-05-05T10:00"},
    "cutting:add-noise-level": {"note": "Quiet.", "level_db": "99"},
    "duties:add-duty": {"name": "Wipe the lamp", "late_days": "400"},
    "duties:change-duty": {"name": "Change it all", "every": "0"},
    "duties:change-meter": {"care_at": "much"},
    "duties:do-duty": {"note": "Quiet.", "at": "2031-05-05T10:00"},
    "duties:put-off-duty": {"reason": "The pump is away.", "until": "2020-05-05"},
    "duties:reset-meter": {"at": "2031-05-05T10:00"},
    "room:change-chip-can": {"where": "In the yard", "limit_g": "much"},
    "room:change-cylinder": {"owner": "Northgate Gases", "stamp": "13-19"},
    "room:change-limit": {"care_above": "warm"},
    "room:change-line-rules": {"talc_dew_c": "damp"},
    "room:return-cylinder": {"on": "2031-05-05"},
    "safety:open-container": {"note": "The small can.", "nominal_ml": "0"},
    "safety:read-level": {"note": "By the lamp.", "gross_g": "100"},
    "safety:set-open-days": {"because": "Its supplier.", "days": "0"},
    "safety:add-place": {"name": "Attic", "volume_m3": "0"},
    "safety:answer-finding": {"because": "A wall stands between them.", "until": "2020-05-05"},
    "safety:change-kept": {"r0_note": "At the back.", "r0_amount": "much"},
    "safety:change-place": {"note": "By the door.", "air_changes_h": "400"},
    "cutting:log-side": {"cut_s": "17:5x"},
    "safety:add-substance": {"name": "Ether", "cas": "67-64-2"},
    "safety:change-substance": {"note": "Quiet.", "un_number": "12"},
    "safety:change-statements": {"r0_fill": "dust", "r0_code": "P999"},
    "safety:change-properties": {"r0_condition": "closed cup", "r0_value": "warm"},
    "safety:change-exposure-limits": {"r0_body": "Somebody", "r0_ppm": "much"},
    "stock:use-stock": {"quantity": "4000"},
    "stock:receive-delivery": {"code": "TL-9", "quantity": "5", "received_on": "2031-05-05"},
    "stock:draft-order": {"note": "By van.", "r0_quantity": "a boxful"},
    "stock:change-order": {"note": "By rail.", "r0_quantity": "0"},
    "stock:send-order": {"sent_on": "2031-05-05"},
    "stock:receive-on-order": {"code": "TL-9", "quantity": "5", "received_on": "2031-05-05"},
    "stock:inspect-lot": {"note": "Under the lamp.", "looked_at": "0.5"},
    "room:take-readings": {"room_c": "20", "room_rh": "140"},
    "safety:keep-call-numbers": {"r0_name": "Mill", "r0_number": "ask at the gate"},
    "safety:keep-shut-offs": {"r0_where": "By the door", "r0_what": ""},
    "safety:keep-extinguishers": {"r0_kind": "Water", "r0_where": "By the door", "r0_never_on": ""},
    "safety:add-sheet": {"title": "Cold lamp", "slug": "two words"},
    "safety:write-sheet": {"title": "Hot lamps", "never": "Never look. [a]\nNor [touch it."},
    "watch:snooze-alert": {"note": "At lunch.", "until": "2020-05-05T10:00"},
    "training:change-questions": {"q0_text": "What is it?", "q1_choice1": "A lamp", "q0_reason": ""},
    "training:change-step": {"why": "It gets dark.", "day": "900"},
    "people:add-person": {"name": "Zeb", "password": "a cart of dry wood 7", "sign_in": "two words"},
}

_MAKE_EMPTY = """() => {
    for (const e of document.querySelectorAll("main form[method=post] :is(input, textarea)"))
        if (!["hidden", "checkbox", "radio", "submit"].includes(e.type)) e.value = "";
}"""


def path(room: Room, name: str) -> str:
    return room.paths[name] if name in SCENES else reverse(name)


def press(page: Page) -> None:
    page.locator("main form.form .button[type=submit]").click()


@pytest.mark.parametrize("name", [name for name in FORMS if name not in MAY_BE_EMPTY])
def test_an_empty_form_is_refused(desk: Desk, day: Room, name: str):
    page = desk.sit_again("" if PERMISSIONS[name].stranger else "ottilie", size=(360, 844))
    page.goto(path(day, name))
    title = page.title()
    page.evaluate(_MAKE_EMPTY)
    press(page)
    says_what_is_wrong(desk, page, title)


@pytest.mark.parametrize("name", sorted(MAY_BE_EMPTY))
def test_a_form_that_needs_nothing_is_saved(desk: Desk, day: Room, name: str):
    page = desk.sit_again("ottilie")
    page.goto(path(day, name))
    page.evaluate(_MAKE_EMPTY)
    press(page)
    deeds.saved(page)


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_value_is_refused_and_kept(desk: Desk, day: Room, name: str):
    page = desk.sit_again("ottilie", size=(360, 844))
    page.goto(path(day, name))
    title = page.title()
    page.evaluate("document.querySelectorAll('details').forEach((e) => { e.open = true; })")
    for choice in ("role", "outcome"):
        if page.locator(f"[name={choice}]").count():
            page.locator(f"[name={choice}]").first.check()
    for box, value in WRONG[name].items():
        field = page.locator(f"[name={box}]")
        field.fill(value)
    press(page)
    says_what_is_wrong(desk, page, title)
    for box, value in WRONG[name].items():
        if box != "password":
            expect(page.locator(f"[name={box}]")).to_have_value(value)
    expect(field).to_be_visible()
    expect(field).to_have_attribute("aria-invalid", "true")
    page.locator(f"#errors a[href='#{field.get_attribute('id')}']").click()
    expect(field).to_be_focused()


def says_what_is_wrong(desk: Desk, page: Page, title: str) -> None:
    """The title begins with it, the summary has the focus, and its lines lead to the fields in the fields' words."""
    expect(page).to_have_title("Error: " + title)
    summary = page.locator("#errors")
    expect(summary).to_be_focused()
    expect(summary).to_be_in_viewport()
    for link in summary.get_by_role("link").all():
        words = link.inner_text()
        target = page.locator(link.get_attribute("href") or "nothing")
        expect(target).to_be_attached()
        beside = target.locator("xpath=ancestor-or-self::*[contains(@class, 'field-wrong')][1]//p[@class='wrong']")
        assert beside.first.inner_text() in words
    assert desk.flaws(page) == []
    look(page, 320)
    assert overhang(page) == []
