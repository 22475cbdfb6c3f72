"""A press is heard at once and is one record; what was typed outlives a lost connection and an ended sign-in."""

import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, Route, expect, sync_playwright

from shop.people.models import Person
from shop.stock.models import OrderLine
from tests.makers import PASSWORD
from tests.stock.makers import make_item, make_supplier

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
ADD = "/people/add/"
SETTINGS = "/people/settings/"
NEW = "four warm words in wax"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if not CHROMIUM:
        pytest.skip("needs Chromium")
    # Playwright keeps an event loop in this thread, where Django would then refuse its database
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(
    browser: Browser,
    live_server: Any,
    owner: Person,
    client_of: Callable[[Person], Client],
) -> Iterator[Callable[..., Page]]:
    """`open_page(path)`: a phone in the owner's hand, with that page open. Fails if the content policy was broken."""
    cookie = client_of(owner).cookies["sessionid"].value
    contexts = []
    complaints: list[str] = []

    def opened(path: str, **how: Any) -> Page:
        context = browser.new_context(base_url=live_server.url, viewport={"width": 390, "height": 844}, **how)
        contexts.append(context)
        context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])
        page = context.new_page()
        page.on("console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(path)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


def type_in(page: Page, sign_in: str = "ilse") -> None:
    page.get_by_label("Name", exact=True).fill("Ilse Brandt-Okoro")
    page.get_by_label("Sign-in name").fill(sign_in)
    page.get_by_label("Assistant").check()
    page.get_by_label("First password").fill(NEW)


def press(page: Page) -> None:
    page.locator("main").get_by_role("button", name="Add").click()


def kept(page: Page) -> None:
    """Wait until the draft is kept on the device."""
    page.wait_for_function("() => Object.keys(localStorage).length > 0")


def test_a_refused_form_says_so_where_one_looks_first(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    type_in(page, sign_in="tindrum")
    press(page)
    summary = page.get_by_role("alert").filter(has_text="Not saved")
    expect(summary).to_be_focused()
    expect(page).to_have_title("Error: Add a person · Latheside")
    expect(page.get_by_label("Name", exact=True)).to_have_value("Ilse Brandt-Okoro")
    summary.get_by_role("link").click()
    expect(page.get_by_label("Sign-in name")).to_be_focused()


def test_a_request_that_never_arrived_is_pressed_again(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    type_in(page)
    page.route("**" + ADD, lambda route: route.abort() if route.request.method == "POST" else route.continue_())
    press(page)
    expect(page.locator("#connection")).to_contain_text("No answer came.")
    assert not Person.objects.filter(sign_in="ilse").exists()
    page.unroute("**" + ADD)
    press(page)
    expect(page.get_by_role("status")).to_contain_text("Ilse Brandt-Okoro may sign in now")
    assert Person.objects.filter(sign_in="ilse").count() == 1


def is_press(route: Route) -> bool:
    return route.request.method == "POST"


def lose_the_answer(route: Route) -> None:
    if is_press(route):
        route.fetch(max_redirects=0)  # it is saved
        route.abort()
    else:
        route.continue_()


def test_an_answer_that_was_lost_makes_no_second_record(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    type_in(page)
    page.route("**" + ADD, lose_the_answer)
    press(page)
    expect(page.locator("#connection")).to_contain_text("No answer came.")
    assert Person.objects.filter(sign_in="ilse").count() == 1
    page.unroute("**" + ADD)
    press(page)
    expect(page.get_by_role("status")).to_contain_text("Ilse Brandt-Okoro may sign in now")
    assert Person.objects.filter(sign_in="ilse").count() == 1


def test_an_answer_that_was_lost_is_told_on_the_next_page(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    type_in(page)
    page.route("**" + ADD, lose_the_answer)
    press(page)
    expect(page.locator("#connection")).to_contain_text("No answer came.")
    page.goto(ADD)
    expect(page.get_by_role("status")).to_contain_text("Ilse Brandt-Okoro may sign in now")
    expect(page.get_by_label("Sign-in name")).to_have_value("")  # a fresh form: that one is done


def test_a_draft_opened_anew_is_still_the_same_press(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    type_in(page)
    kept(page)
    token = page.locator("input[name=once]").input_value()
    page.reload()
    expect(page.get_by_text("was kept and is filled in again")).to_be_visible()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Ilse Brandt-Okoro")
    expect(page.locator("input[name=once]")).to_have_value(token)


def test_a_spent_press_gives_back_what_was_typed_with_a_fresh_token(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    type_in(page)
    token = page.locator("input[name=once]").input_value()
    page.route("**" + ADD, lose_the_answer)
    press(page)
    expect(page.locator("#connection")).to_contain_text("No answer came.")
    page.unroute("**" + ADD)
    page.get_by_label("Sign-in name").fill("ilse-b")  # another deed with the same token
    press(page)
    expect(page.locator("#errors")).to_contain_text("Not saved a second time")
    expect(page.get_by_label("Sign-in name")).to_have_value("ilse-b")
    expect(page.locator("input[name=once]")).not_to_have_value(token)
    fresh = page.locator("input[name=once]").input_value()
    page.reload()  # and so does what is kept on the device
    expect(page.get_by_label("Sign-in name")).to_have_value("ilse-b")
    expect(page.locator("input[name=once]")).to_have_value(fresh)
    assert list(Person.objects.filter(sign_in__startswith="ilse").values_list("sign_in", flat=True)) == ["ilse"]


def test_a_second_tap_is_dropped_and_the_first_is_shown_at_once(open_page: Callable[..., Page]) -> None:
    page = open_page(SETTINGS)
    posts = []
    page.on("request", lambda request: posts.append(request) if request.method == "POST" else None)
    page.evaluate(
        """() => {
            const button = document.querySelector(".form button");
            button.addEventListener("click", () => setTimeout(() => { window.later = true; }));
            new MutationObserver(() => { window.atOnce ??= !window.later; }).observe(button, { attributes: true });
        }"""
    )
    held: list[Route] = []
    page.route("**" + SETTINGS, lambda route: held.append(route) if is_press(route) else route.continue_())
    button = page.locator(".form button")
    button.click()
    expect(button).to_have_text("Saving…")
    assert page.evaluate("window.atOnce"), "shown in the same breath, before the browser does anything else"
    button.click(force=True)
    held[0].continue_()
    expect(page.get_by_role("status")).to_contain_text("Your units are saved")
    assert len(posts) == 1


def test_what_was_typed_is_there_again_until_it_is_saved(open_page: Callable[..., Page]) -> None:
    page = open_page(SETTINGS)
    page.get_by_label("psi").check()
    kept(page)
    page.reload()
    expect(page.get_by_label("psi")).to_be_checked()
    note = page.get_by_text("was kept and is filled in again")
    expect(note).to_be_visible()
    page.get_by_role("button", name="Start afresh").click()
    expect(note).to_be_hidden()
    expect(page.get_by_label("bar: a gauge")).to_be_checked()

    page.get_by_label("psi").check()
    page.get_by_role("button", name="Save my units").click()
    expect(page.get_by_role("status")).to_contain_text("saved")
    page.goto(SETTINGS)
    expect(note).to_be_hidden()
    expect(page.get_by_label("psi")).to_be_checked()


#: Types into the first box of the form.
TYPE = """
    const box = document.querySelector("form[data-draft] input[type=text]");
    box.value = "Typed a moment ago";
    box.dispatchEvent(new Event("input", { bubbles: true }));
"""


def test_what_was_typed_just_before_leaving_is_kept_too(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    with page.expect_navigation():
        page.evaluate(f"() => {{ setTimeout(() => {{ {TYPE} location.reload(); }}); }}")
    expect(page.get_by_text("was kept and is filled in again")).to_be_visible()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Typed a moment ago")


def test_what_was_typed_just_before_the_phone_went_away_is_kept_too(open_page: Callable[..., Page]) -> None:
    hide = """
        Object.defineProperty(document, "visibilityState", { value: "hidden" });
        document.dispatchEvent(new Event("visibilitychange"));
        return JSON.stringify(localStorage);
    """
    assert "Typed a moment ago" in open_page(ADD).evaluate(f"() => {{ {TYPE} {hide} }}")


def test_no_password_is_kept(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD)
    type_in(page)
    kept(page)
    assert NEW not in page.evaluate("JSON.stringify(localStorage)")


def test_a_sign_in_that_ended_loses_nothing(open_page: Callable[..., Page]) -> None:
    page = open_page(SETTINGS)
    page.get_by_label("psi").check()
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Save my units").click()
    expect(page).to_have_title("Sign in · Latheside")
    page.get_by_label("Sign-in name").fill("tindrum")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page).to_have_title("My settings · Latheside")
    expect(page.get_by_label("psi")).to_be_checked()
    page.get_by_role("button", name="Save my units").click()
    expect(page.get_by_role("status")).to_contain_text("saved")
    assert Person.objects.get(sign_in="tindrum").pressure_unit == "psi"


def test_a_page_open_too_long_loses_nothing(open_page: Callable[..., Page]) -> None:
    page = open_page(SETTINGS)
    page.get_by_label("psi").check()
    page.context.clear_cookies(name="csrftoken")
    page.get_by_role("button", name="Save my units").click()
    expect(page).to_have_title("Not saved · Latheside")
    expect(page.get_by_text("What you typed is kept on this device")).to_be_visible()
    page.get_by_role("link", name="Open the page afresh").click()
    expect(page.get_by_label("psi")).to_be_checked()
    page.get_by_role("button", name="Save my units").click()
    expect(page.get_by_role("status")).to_contain_text("saved")


def test_signing_out_leaves_nothing_on_the_device(open_page: Callable[..., Page]) -> None:
    page = open_page(SETTINGS)
    page.get_by_label("psi").check()
    kept(page)
    page.goto("/people/more/")
    page.locator("main").get_by_role("button", name="Sign out").click()
    expect(page).to_have_title("Sign in · Latheside")
    assert page.evaluate("Object.keys(localStorage).length") == 0


def test_all_of_it_works_without_script(open_page: Callable[..., Page]) -> None:
    page = open_page(ADD, java_script_enabled=False)
    type_in(page, sign_in="tindrum")
    press(page)
    expect(page).to_have_title("Error: Add a person · Latheside")
    page.get_by_label("Sign-in name").fill("ilse")
    page.get_by_label("First password").fill(NEW)
    press(page)
    expect(page.get_by_role("status")).to_contain_text("Ilse Brandt-Okoro may sign in now")
    assert Person.objects.filter(sign_in="ilse").count() == 1


def test_rows_that_were_added_keep_what_is_typed_in_them(open_page: Callable[..., Page], owner: Person) -> None:
    """Also when the page is left and opened again, and what is pressed then is all of it."""
    supplier = make_supplier(owner)
    parts = [make_item(owner, f"Part {number}", kind="part") for number in range(3)]
    address = f"/stock/orders/draft/?supplier={supplier.pk}"
    page = open_page(address)
    page.locator("#id_r0_item").select_option(str(parts[0].pk))
    page.locator("#id_r0_quantity").fill("5")
    page.get_by_role("button", name="Two more lines").click()
    expect(page.locator(".order-row")).to_have_count(4)
    expect(page.locator("#id_r0_quantity")).to_have_value("5")
    page.locator("#id_r3_item").select_option(str(parts[2].pk))
    page.locator("#id_r3_quantity").fill("7")
    page.goto("/people/more/")
    page.goto(address)
    expect(page.locator("#id_r3_quantity")).to_have_value("7")
    expect(page.get_by_text("was kept and is filled in again")).to_be_visible()
    page.get_by_role("button", name="Write it down").click()
    expect(page.locator("[data-saved]")).to_be_visible()
    assert list(OrderLine.objects.values_list("item__name", "quantity")) == [("Part 0", 5), ("Part 2", 7)]
    page.goto(address)
    expect(page.locator(".order-row")).to_have_count(2)
