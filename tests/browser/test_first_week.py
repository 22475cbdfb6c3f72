"""A first week, played by an assistant on a phone and an engineer at a desk, to the printed record."""

import re
import shutil
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from io import BytesIO
from typing import Any

import pypdf
import pytest
from django.test import Client
from playwright.sync_api import Browser, Page, expect, sync_playwright

from shop import clock
from shop.people.models import Person
from shop.training.models import Authority, Programme, SelfSigning, SignOff, Step
from tests.browser.conftest import FLAGS
from tests.makers import PASSWORD, moment
from tests.people.makers import CODE, make_code
from tests.safety import hazard_sheets
from tests.training.makers import give, make_act, make_programme, make_question

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
MONDAY = "2026-03-02 09:00"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if not CHROMIUM:
        pytest.skip("needs Chromium")
    # Playwright keeps an event loop in this thread, where Django would then refuse its database
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture
def on_day(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """`on_day(3)`: it is the morning of the third day, to the test and to the server's threads alike."""
    here: dict[str, datetime] = {}
    monkeypatch.setattr(clock, "now", lambda: here["now"])

    def move(number: int) -> None:
        here["now"] = moment(MONDAY) + timedelta(days=number - 1)

    move(1)
    return move


@pytest.fixture
def sit(browser: Browser, live_server: Any, client_of: Callable[[Person], Client]) -> Iterator[Callable[..., Page]]:
    """`sit(person, size)`: a browser of their own in which they have signed in."""
    contexts, complaints = [], []

    def opened(person: Person, size: tuple[int, int]) -> Page:
        context = browser.new_context(
            base_url=live_server.url,
            viewport={"width": size[0], "height": size[1]},
            reduced_motion="reduce",
            locale="en-GB",
        )
        contexts.append(context)
        key = client_of(person).cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": key, "url": live_server.url}])
        page = context.new_page()
        page.on("console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


def sign(page: Page, *, who: str, proof: str, note: str = "", give: str = "") -> None:
    page.get_by_role("link", name="Sign it off").click()
    page.get_by_label(who).check()
    page.get_by_label("What you saw").fill(note)
    if give:
        page.get_by_label(give).check()
    page.get_by_label("Password or personal code").fill(proof)
    page.get_by_role("button", name="Sign it").click()


def choose(page: Page, choice: str) -> None:
    page.get_by_label(choice).check()
    page.get_by_role("button", name="Answer").click()


def saved(page: Page) -> str:
    note = page.locator("[data-saved]")
    expect(note).to_be_visible()
    return note.inner_text()


def test_a_first_week(
    sit: Callable[..., Page],
    on_day: Callable[[int], None],
    owner: Person,
    engineer: Person,
    assistant: Person,
) -> None:
    version = hazard_sheets.make_in_force(owner, engineer)
    programme = make_programme("read:Read the lamp", "watch:Walk the exits", "answer:What burns", "do:Wet the chip")
    show = Step.objects.create(
        programme=programme,
        order=90,
        kind="show",
        title="Show the trap emptied",
        act=make_act(owner, "Empty the trap", months=12),
    )
    lamp, exits, asks, wet = programme.steps.exclude(pk=show.pk)
    Step.objects.filter(pk=lamp.pk).update(sheet=version.sheet.slug)
    Step.objects.filter(pk=wet.pk).update(times=2, sheet=version.sheet.slug)
    wet.needs.add(lamp, exits)
    show.needs.add(wet)
    make_question(asks)
    make_question(asks, "Who is called first?", right=0, choices=["Everybody out", "The owner"], reason="People first.")
    give(owner, make_act(owner, "Sign off"), engineer)
    make_code(engineer)
    phone, desk = sit(assistant, (390, 844)), sit(engineer, (1280, 900))

    # Monday: put on the programme; a sheet read; the exits walked, signed on the assistant's phone
    desk.goto("/training/board/")
    desk.get_by_role("link", name="Put somebody on a programme").click()
    desk.get_by_label("Who", exact=True).select_option(label=assistant.name)
    desk.get_by_label("With whom").select_option(label=engineer.name)
    desk.get_by_role("button", name="Put them on it").click()
    assert saved(desk) == f"{assistant.name} is on it."
    phone.goto("/")
    phone.get_by_role("link", name="What’s next to learn").click()
    expect(phone.get_by_text("0 of 5 steps done")).to_be_visible()
    phone.get_by_role("link", name="Read the lamp").click()
    phone.get_by_role("link", name="Hazard sheet: Hot lamp").click()
    phone.get_by_role("button", name="I have read version 1").click()
    phone.goto("/training/next/")
    expect(phone.get_by_text("1 of 5 steps done")).to_be_visible()
    phone.get_by_role("link", name="Walk the exits").first.click()
    sign(phone, who=engineer.name, proof="111 222", note="Both doors.")
    expect(phone).to_have_title("Error: Sign it off · Latheside")
    expect(phone.get_by_label("What you saw")).to_have_value("Both doors.")
    phone.get_by_label("Password or personal code").fill(CODE)
    phone.get_by_role("button", name="Sign it").click()
    assert saved(phone) == f"Walk the exits: signed by {engineer.name}."

    # Tuesday: one question right, one wrong; the first time with the chip, signed at the desk by the password
    on_day(2)
    phone.goto("/training/next/")
    phone.get_by_role("link", name="What burns").click()
    phone.get_by_role("link", name="Answer").click()
    choose(phone, "Sand")
    expect(phone.get_by_role("heading", name="Not right")).to_be_visible()
    expect(phone.get_by_text("It burns without air; water cools it.")).to_be_visible()
    choose(phone, "Everybody out")
    expect(phone.get_by_role("heading", name="Right", exact=True)).to_be_visible()
    expect(phone.get_by_text("That is all for today.")).to_be_visible()
    desk.goto("/training/board/")
    desk.get_by_role("link", name=assistant.name).click()
    desk.get_by_role("link", name="Wet the chip").click()
    sign(desk, who=engineer.name, proof=PASSWORD)
    saved(desk)

    # Wednesday: the wrong one comes round; the chip once more; the sign-in ends in the middle of the form
    on_day(3)
    phone.goto("/training/next/")
    phone.get_by_role("link", name="What burns").click()
    phone.get_by_role("link", name="Answer").click()
    choose(phone, "Plenty of water")
    expect(phone.get_by_text("It comes round again on Saturday 7 March.")).to_be_visible()
    phone.goto("/training/next/")
    phone.get_by_role("link", name="Wet the chip").click()
    phone.get_by_role("link", name="Sign it off").click()
    phone.get_by_label(engineer.name).check()
    phone.get_by_label("What you saw").fill("Without a word from me.")
    phone.get_by_label("Password or personal code").fill(CODE)
    phone.context.clear_cookies(name="sessionid")
    phone.get_by_role("button", name="Sign it").click()
    expect(phone).to_have_title("Sign in · Latheside")
    phone.get_by_label("Sign-in name").fill(assistant.sign_in)
    phone.get_by_label("Password").fill(PASSWORD)
    phone.get_by_role("button", name="Sign in").click()
    expect(phone).to_have_title("Sign it off · Latheside")
    expect(phone.get_by_label("What you saw")).to_have_value("Without a word from me.")
    expect(phone.get_by_label(engineer.name)).to_be_checked()
    expect(phone.get_by_label("Password or personal code")).to_have_value("")
    phone.get_by_label("Password or personal code").fill(CODE)
    phone.get_by_role("button", name="Sign it").click()
    saved(phone)
    assert SignOff.objects.filter(step=wet).count() == 2

    # Thursday: shown alone, and with it the authority
    on_day(4)
    phone.goto("/training/next/")
    phone.get_by_role("link", name="Show the trap emptied").click()
    sign(phone, who=engineer.name, proof=CODE, give="And with it, alone from today: Empty the trap")
    assert saved(phone).endswith(f"{assistant.name} may do it alone: Empty the trap.")
    phone.goto("/training/next/")
    expect(phone.get_by_role("link", name=re.compile("Empty the trap until 4 Mar 2027"))).to_be_visible()

    # Friday: one that was signed too soon is withdrawn, and the authority that rests on it goes with it
    on_day(5)
    desk.goto("/training/board/")
    desk.get_by_role("link", name=assistant.name).click()
    desk.get_by_text("4 done").click()
    desk.get_by_role("link", name="Wet the chip").click()
    desk.get_by_role("link", name="Withdraw it").first.click()
    desk.get_by_label("Why").fill("I had helped.")
    desk.get_by_role("button", name="Withdraw it").click()
    assert saved(desk).endswith(f"{assistant.name} does it alone no more: Empty the trap.")
    assert Authority.objects.get(person=assistant).withdrawn.why.endswith("I had helped.")
    desk.get_by_role("link", name="Training record").click()
    paper = desk.request.get(desk.get_by_role("link", name="Print it").get_attribute("href") or "")
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(paper.body())).pages)
    text = " ".join(text.split())
    for said in (
        "Walk the exits",
        "Both doors.",
        "Hot lamp, version 1",
        "I had helped.",
        "Taken back",
        "3 answers, 2 right",
    ):
        assert said in text
    assert not SelfSigning.objects.exists()
    assert Programme.objects.count() == 1
