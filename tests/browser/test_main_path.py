"""The morning and the first side of the day, as an assistant goes through them."""

import io
import re
from typing import NamedTuple

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.browser import deeds
from tests.browser.person import DESK, PHONE, Desk
from tests.browser.room import Room


class Stand(NamedTuple):
    """What the room holds: of the lot that is taken first, of the fitted stylus, in the trap, on the line."""

    blanks: int
    stylus_s: int
    stylus_sides: int
    chip_mg: int
    line_s: int


def stand(room: Room) -> Stand:
    [(blanks,)] = room.ask(
        "SELECT on_hand FROM stock_lot JOIN stock_item i ON i.id = item_id "
        "WHERE blank_in = 14 AND on_hand > 0 AND held_at IS NULL ORDER BY last_day, received_on, stock_lot.id LIMIT 1"
    )
    [(cut_s, sides)] = room.ask(
        "SELECT cut_s, sides FROM cutting_life l JOIN cutting_fitting f ON f.life_id = l.id WHERE f.off_at IS NULL"
    )
    meters = dict(room.ask("SELECT key, value FROM duties_meter"))
    return Stand(blanks, cut_s, sides, meters["chip"], meters["line"])


@pytest.mark.parametrize("size", [PHONE, DESK])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_from_signing_in_to_the_first_side(desk: Desk, morning: Room, size: tuple[int, int], dark: bool):
    walk(morning, desk.sit(size=size, dark=dark))


def test_from_signing_in_to_the_first_side_without_script(desk: Desk, morning: Room):
    walk(morning, desk.sit(script=False))


def walk(room: Room, page: Page) -> None:
    page.goto("/")
    expect(page).to_have_title("Sign in · Latheside")
    deeds.sign_in(page, "juno")
    expect(page.get_by_role("heading", level=1)).to_have_text("Tuesday 9 March")
    assert "Juno Applewhist" in page.content()

    sign_the_check(page, room)
    log_the_first_side(page, room)
    read_the_paper(page, room)


def sign_the_check(page: Page, room: Room) -> None:
    """A temperature in the wrong unit is asked about before anything is saved; confirmed, it counts."""
    page.get_by_role("link", name="Start the morning check").click()
    typed = deeds.fill_check(page, also={"Room temperature": "38"})  # warm: a gauge that stayed is then not asked about
    deeds.sign_check(page)
    expect(page).to_have_title(re.compile("^Error: "))
    expect(page.locator("#errors")).to_contain_text("Room temperature")
    assert room.ask("SELECT count(*) FROM morning_check WHERE day = '2027-03-09'") == [(0,)]
    for name, value in typed.items():
        expect(page.locator(f"input[name={name}]")).to_have_value(value)

    page.locator(".choice-sure").first.click()
    deeds.sign_check(page)
    assert deeds.saved(page) == "The check is signed: Hold."
    expect(page.locator(".verdict")).to_contain_text("Hold")
    expect(page.get_by_role("heading", name="Reasons")).to_be_visible()
    expect(page.locator(".concern").first).to_contain_text("1 blank of 14 inch missing for today's sides")
    assert page.locator(".concern .concern-do").count() >= 3, "each reason says what to do"
    [(readings, value)] = room.ask(
        "SELECT count(*), max(CASE kind WHEN 'room_c' THEN value END) FROM room_reading WHERE at >= '2027-03-09'"
    )
    assert (readings, value) == (6, 38)


def log_the_first_side(page: Page, room: Room) -> None:
    before = stand(room)
    deeds.first_side_to_log(page)
    play = page.locator(".figure b").inner_text()
    deeds.log_good_side(page)
    said = deeds.saved(page)
    after = stand(room)
    stylus = room.ask(
        "SELECT mark FROM cutting_stylus s JOIN cutting_life l ON l.stylus_id = s.id "
        "JOIN cutting_fitting f ON f.life_id = l.id WHERE f.off_at IS NULL"
    )[0][0]
    minutes, seconds = map(int, play.split(":"))
    cut_s = minutes * 60 + seconds
    [(chip_mg,)] = room.ask("SELECT chip_mg FROM cutting_side ORDER BY id DESC LIMIT 1")
    assert chip_mg > 50
    assert after == Stand(
        before.blanks - 1,
        before.stylus_s + cut_s,
        before.stylus_sides + 1,
        before.chip_mg + chip_mg,
        before.line_s + cut_s,
    )
    assert f"used, {after.blanks} left" in said
    assert f"{play} on {stylus}, now at {after.stylus_s / 3600:.1f} h" in said
    assert f"about {chip_mg / 1000:.2f} g of chip to the trap" in said

    page.goto("/stock/ledger/")
    line = page.locator("tbody tr").first
    expect(line).to_contain_text("Used −1")
    expect(line.locator("td[data-label='Left once entered']")).to_have_text(str(after.blanks))
    page.goto(room.paths["cutting:stylus"])
    expect(page.locator(".figure b").first).to_have_text(f"{after.stylus_s / 3600:.1f}")
    expect(page.locator(".figure b").nth(2)).to_have_text(str(after.stylus_sides))
    page.goto(room.paths["duties:meter"])
    decimals = 2 if after.chip_mg < 1000 else 1  # grams, as the meter shows them
    expect(page.locator(".figure b").first).to_have_text(f"{after.chip_mg / 1000:.{decimals}f}")
    expect(page.locator("tbody tr").first).to_contain_text(f"+{chip_mg / 1000:.2f} g")


def read_the_paper(page: Page, room: Room) -> None:
    page.goto("/")
    page.get_by_role("link", name="The check", exact=True).click()
    link = page.get_by_role("link", name="Paper (PDF)").get_attribute("href")
    assert link is not None
    paper = page.request.get(link)
    assert paper.status == 200
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.body().startswith(b"%PDF-")
    reader = PdfReader(io.BytesIO(paper.body()))
    text = " ".join("\n".join(leaf.extract_text() for leaf in reader.pages).split())
    assert "Hold" in text
    assert "Signed by Juno Applewhist" in text
    assert "1 blank of 14 inch missing" in text
    assert len(reader.pages) <= 2
