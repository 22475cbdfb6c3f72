"""Files sent from a browser: read while one looks on or leaves, with the script and without, and none in vain."""

import pytest
from playwright.sync_api import FilePayload, Page, expect

from tests.browser.person import Desk, overhang
from tests.browser.room import Room

SEND = "/stock/in-and-out/send/suppliers/"


def as_file(name: str, text: str) -> FilePayload:
    return {"name": name, "mimeType": "text/csv", "buffer": text.encode()}


def send(page: Page, file: FilePayload) -> None:
    page.goto(SEND)
    page.get_by_label("File", exact=True).set_input_files(file)
    page.get_by_role("button", name="Send it to be checked").click()


@pytest.mark.parametrize("script", [True, False])
def test_a_file_is_looked_at_and_taken_in(desk: Desk, day: Room, script: bool):
    page = desk.sit("ottilie", script=script)
    send(page, as_file("ours.csv", "Supplier,Lead days\nOrrery & Daughters,30\n"))
    expect(page.get_by_role("heading", level=1)).to_contain_text("ours.csv")
    page.get_by_role("button", name="Take in 1 row").click()
    expect(page.get_by_text("Taken in on")).to_be_visible()
    assert day.ask("SELECT lead_days FROM stock_supplier WHERE name = 'Orrery & Daughters'") == [(30,)]


@pytest.mark.parametrize("script", [True, False])
def test_a_long_file_shows_its_progress_until_it_can_be_taken_in(desk: Desk, day: Room, script: bool):
    page = desk.sit("ottilie", script=script)
    rows = [f"Supplier {n},{'in the old book ' * 3}" for n in range(6000)]
    send(page, as_file("long.csv", "\n".join(["Supplier,Note", *rows])))
    take_in = page.get_by_role("button", name="Take in 6000 rows")
    for _ in range(60):
        if script or take_in.count():
            break
        look = page.get_by_role("link", name="Look again")
        if look.count():
            look.click()
        page.wait_for_timeout(500)
    expect(take_in).to_be_visible(timeout=60_000)
    assert overhang(page) == []
    assert day.ask("SELECT count(*) FROM stock_supplier WHERE name LIKE 'Supplier %'") == [(0,)]


def test_faults_and_questions_read_well_on_a_phone(desk: Desk, day: Room):
    page = desk.sit("ottilie", size=(360, 844))
    send(page, as_file("bad.csv", "Supplier,Lead days\nA,soon\nB,-1\n"))
    expect(page.get_by_text("2 cells of 2 rows are not right")).to_be_visible()
    assert desk.flaws(page) == []
    assert overhang(page) == []
    page.goto(SEND)
    letters: FilePayload = {"name": "x.csv", "mimeType": "text/csv", "buffer": "Supplier\nGröße".encode("cp1252")}
    page.get_by_label("File", exact=True).set_input_files(letters)
    page.get_by_role("button", name="Send it to be checked").click()
    expect(page.get_by_text("Which of these reads right?")).to_be_visible()
    assert desk.flaws(page) == []
    assert overhang(page) == []
    page.get_by_role("button", name="That is right").click()
    expect(page.locator("#errors")).to_contain_text("Choose one.")
    page.get_by_text("Größe (Western Europe, Windows)").click()
    page.get_by_role("button", name="That is right").click()
    expect(page.get_by_role("button", name="Take in 1 row")).to_be_visible()


def test_a_file_that_would_be_refused_for_its_size_is_not_sent(desk: Desk, day: Room):
    page = desk.sit("ottilie")
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    send(page, as_file("huge.csv", "Supplier\n" + "x" * (16 * 1024 * 1024)))
    expect(page.locator("#connection")).to_contain_text("larger than 15 MB. Send it in parts")
    assert sent == []
    expect(page.get_by_role("button", name="Send it to be checked")).to_be_enabled()
