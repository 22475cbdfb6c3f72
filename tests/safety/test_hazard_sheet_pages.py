"""Pages of the room's own sheets: what they say of how a sheet stands, and what they let whom do."""

from uuid import uuid4

import pytest
from django.urls import reverse

from shop.duties import sheets as duty_sheets
from shop.safety import actions, queries
from shop.safety.models import CallNumber, HazardSheet, SheetRead, SheetVersion
from tests.carrying.files import export, read_csv
from tests.safety.hazard_sheets import (
    approve,
    make_in_force,
    make_sheet,
    make_substance,
    read,
    set_rules,
    write,
    written,
)

pytestmark = pytest.mark.django_db

CAUTION = "This replaces neither the supplier's safety data sheet, nor the local fire code"


@pytest.fixture
def page(client_of):
    def look(person, name, *args, status=200, query=""):
        answer = client_of(person).get(reverse(f"safety:{name}", args=args) + query)
        assert answer.status_code == status
        return answer.content.decode()

    return look


@pytest.fixture
def press(client_of):
    """`press(person, name, *args, **typed)`: the answer to a press, with a fresh token."""

    def send(person, name, *args, **typed):
        typed.setdefault("once", str(uuid4()))
        return client_of(person).post(reverse(f"safety:{name}", args=args), typed)

    return send


def boxes(**typed):
    """What the form of a draft sends: every part, and others by the box's name."""
    filled = {part.replace("-", "_"): "\n".join(one.typed for one in told) for part, told in written().items()}
    return {"title": "Hot lamp", "note": "", **filled, **typed}


# A sheet --------------------------------------------------------------------------------------------------------------


def test_a_sheet_in_force_says_its_version_who_approved_it_and_until_when(engineer, owner, visitor, page, at):
    with at("2025-03-03 09:00"):
        version = make_in_force(engineer, owner)
        shown = page(visitor, "hazard-sheet", version.sheet.slug)
    assert "<b>In force: version 1</b>, approved 3 March 2025 by Orla Tindrum, until 3 March 2027." in shown
    assert "Of what can hurt you." in shown
    assert "common practice, no source" in shown
    assert CAUTION in shown
    assert "No local number is written down here yet" in shown
    assert shown.index('id="never"') < shown.index('id="if-fire"') < shown.index('id="wear"')


def test_a_draft_says_that_it_is_one_and_not_in_force(engineer, visitor, page):
    sheet = write(engineer, make_sheet(engineer))
    shown = page(visitor, "hazard-sheet", sheet.slug)
    assert "This is a draft and not in force: nobody here has approved it." in shown
    assert "In force: version" not in shown
    assert "Of never." in shown


def test_a_source_stands_beside_each_fact_and_what_is_from_memory_says_so(engineer, owner, page):
    typed = written(never="Never look. [NFPA 40]\nNor touch. [NFPA 77; from memory]\nNor lick.")
    sheet = write(engineer, make_sheet(engineer), typed)
    approve(owner, sheet, sure=["unsourced"])
    shown = page(engineer, "hazard-sheet", sheet.slug)
    assert 'Never look. <small class="fact-source">NFPA 40</small>' in shown
    assert 'Nor touch. <small class="fact-source">NFPA 77, <b>from memory</b></small>' in shown
    assert 'Nor lick. <small class="fact-source"><b>no source given</b></small>' in shown


def test_what_people_write_is_shown_as_words(engineer, owner, page):
    sheet = write(engineer, make_sheet(engineer), written(never="<b>Never</b> & so on. [<i>a</i>]"))
    approve(owner, sheet)
    for name in ("hazard-sheet", "hurry-sheet"):
        shown = page(engineer, name, sheet.slug)
        assert "&lt;b&gt;Never&lt;/b&gt; &amp; so on." in shown
        assert "<i>a</i>" not in shown


def test_an_approval_that_ran_out_is_said_and_the_sheet_is_not_in_force(engineer, owner, page, at):
    with at("2025-03-03 09:00"):
        version = make_in_force(engineer, owner)
    with at("2027-03-04 09:00"):
        shown = page(engineer, "hazard-sheet", version.sheet.slug)
        assert "The approval of version 1 ran out on 3 March 2027. Nothing is in force." in shown
        assert "I have read" not in shown
        assert "Run out, not in force" in page(engineer, "hazards")


def test_a_withdrawn_version_says_why(engineer, owner, page):
    version = make_in_force(engineer, owner)
    actions.withdraw_version(by=engineer, once=uuid4(), version=version, why="It names the wrong glove.")
    shown = page(owner, "hazard-sheet", version.sheet.slug)
    assert "It names the wrong glove. Nothing is in force." in shown
    assert "This version is not in force." in page(owner, "sheet-version", version.pk)
    assert "It is not in force." in page(owner, "withdraw-version", version.pk)


def test_a_fire_is_fought_by_what_the_sheets_own_substance_says_and_no_others(engineer, owner, page):
    quill = make_substance("Quillspirit", fire_use="Powder alone.", fire_never="Never a jet.", fire_source="Card 12")
    make_substance("Brackwax", fire_use="Sand and patience.", fire_never="Never water.")
    version = make_in_force(engineer, owner, "Quill", substance=quill)
    for name in ("hazard-sheet", "hurry-sheet"):
        shown = page(owner, name, version.sheet.slug)
        for words in ("Quillspirit", "Powder alone.", "Never a jet.", "Card 12"):
            assert words in shown
        assert "Sand and patience." not in shown
        assert "Brackwax" not in shown
    assert "Powder alone." not in page(owner, "hurry-sheet", make_in_force(engineer, owner).sheet.slug)


def test_the_numbers_to_call_stand_on_it(engineer, owner, page):
    CallNumber.objects.create(name="Fire service", number="112 000", when="Anything burns")
    slug = make_in_force(engineer, owner).sheet.slug
    for shown in (page(owner, "hazard-sheet", slug), page(owner, "hurry-sheet", slug), page(owner, "hurry")):
        assert "Fire service" in shown
        assert 'href="tel:112000"' in shown
        assert "No local number is written down" not in shown


# Reading --------------------------------------------------------------------------------------------------------------


def test_reading_is_confirmed_on_the_page_once(engineer, owner, assistant, page, press):
    version = make_in_force(engineer, owner)
    assert "You have still to read" in page(assistant, "hazards")
    assert "I have read version 1" in page(assistant, "hazard-sheet", version.sheet.slug)
    token = str(uuid4())
    for _ in range(2):
        answer = press(assistant, "confirm-sheet-read", version.pk, once=token)
        assert (answer.status_code, answer.url) == (302, version.sheet.get_absolute_url())
    assert [(one.by, one.version) for one in SheetRead.objects.all()] == [(assistant, version)]
    shown = page(assistant, "hazard-sheet", version.sheet.slug)
    assert "You read this version on" in shown
    assert "I have read version" not in shown
    again = press(assistant, "confirm-sheet-read", version.pk)
    assert again.status_code == 422
    assert "You have said so already." in again.content.decode()
    assert "You have read every sheet in force." in page(assistant, "hazards")


def test_a_visitor_is_not_asked_whether_they_read_it(engineer, owner, visitor, page, press):
    version = make_in_force(engineer, owner)
    assert "I have read" not in page(visitor, "hazard-sheet", version.sheet.slug)
    assert "still to read" not in page(visitor, "hazards")
    assert press(visitor, "confirm-sheet-read", version.pk).status_code == 403
    assert not SheetRead.objects.exists()


def test_the_matrix_says_who_has_still_to_read_what(engineer, owner, assistant, page, client_of):
    lamp, door = make_in_force(engineer, owner), make_in_force(engineer, owner, "Cold door")
    read(assistant, lamp)
    shown = page(engineer, "sheet-reading")
    assert "<b>1 of 2 still to read.</b>" in shown
    assert "<b>2 of 2 still to read.</b>" in shown
    assert "not yet" in shown
    page(assistant, "sheet-reading", status=403)
    headings, *rows = read_csv(export(client_of(engineer), "sheets-read"))
    assert headings == ["Sheet", "Version", "Approved", "Who", "Role", "Read"]
    assert [(row[0], row[1], row[3], row[4]) for row in rows] == [("Hot lamp", "1", "Asta Pellow", "Assistant")]
    assert door.title not in str(rows)


def test_new_words_are_pointed_out_to_whoever_reads_again(engineer, owner, assistant, page):
    first = make_in_force(engineer, owner)
    approve(owner, write(engineer, first.sheet, written(never="Never look into it. [a]"), note="Eyes"))
    assert "New in version 2: Eyes" in page(assistant, "hazard-sheet", first.sheet.slug)
    shown = page(assistant, "compare-versions", first.sheet.slug)
    assert "<ins>Never look into it.</ins>" in shown
    assert "<del>Of never.</del>" in shown
    assert "Of what can hurt you." not in shown  # what is the same in a part that is the same
    back = page(assistant, "compare-versions", first.sheet.slug, query="?from=2&to=1")
    assert "<ins>Of never.</ins>" in back
    same = page(assistant, "compare-versions", first.sheet.slug, query="?from=2&to=2")
    assert "They say the same." in same
    odd = page(assistant, "compare-versions", first.sheet.slug, query="?from=x&to=99")
    assert "<ins>Never look into it.</ins>" in odd


# Writing and approving ------------------------------------------------------------------------------------------------


def test_a_sheet_is_added_written_and_approved_on_the_pages(engineer, owner, page, press):
    made = press(engineer, "add-sheet", title="Hot lamp", slug="hot-lamp")
    assert made.url == reverse("safety:write-sheet", args=["hot-lamp"])
    sheet = HazardSheet.objects.get()
    kept = press(engineer, "write-sheet", "hot-lamp", **boxes(version=sheet.version))
    assert kept.url == sheet.get_absolute_url()
    refused = page(engineer, "approve-sheet", "hot-lamp")
    assert "by the shop's rule somebody else approves it: Orla Tindrum." in refused
    assert 'name="once"' not in refused[refused.index("<main") :]
    sheet.refresh_from_db()
    assert "Approve it" in page(owner, "approve-sheet", "hot-lamp")
    done = press(owner, "approve-sheet", "hot-lamp", version=sheet.version)
    assert done.url == sheet.get_absolute_url()
    assert SheetVersion.objects.get().parts == sheet.draft


def test_a_draft_starts_from_what_is_in_force(engineer, owner, page):
    version = make_in_force(engineer, owner)
    shown = page(engineer, "write-sheet", version.sheet.slug)
    assert "It starts from version 1." in shown
    assert "Of never. [common practice, no source]" in shown


def test_lines_that_cannot_be_read_are_named_and_nothing_typed_is_lost(engineer, press):
    sheet = make_sheet(engineer)
    typed = boxes(version=sheet.version, never="Never look. [a]\nNor [touch it.", wear="[b]")
    answer = press(engineer, "write-sheet", sheet.slug, **typed)
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert "Line 2: One pair of square brackets, at the end of the line, holds the source." in shown
    assert "Line 1: There is a source, but no fact before it." in shown
    assert "Nor [touch it." in shown
    sheet.refresh_from_db()
    assert sheet.draft == {}


def test_a_stale_save_shows_both(engineer, owner, press):
    sheet = make_sheet(engineer)
    write(owner, sheet, written(never="Never look. [a]"))
    answer = press(engineer, "write-sheet", sheet.slug, **boxes(version=sheet.version, never="Nor touch. [b]"))
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody changed this" in shown
    assert "<dt>Never</dt><dd>Never look. [a]</dd>" in shown
    assert "Nor touch. [b]" in shown
    sheet.refresh_from_db()
    again = press(engineer, "write-sheet", sheet.slug, **boxes(version=sheet.version, never="Nor touch. [b]"))
    assert again.status_code == 302


def test_a_fact_without_source_is_asked_about_on_the_page(engineer, owner, press):
    sheet = write(engineer, make_sheet(engineer), written(never="Never look."))
    asked = press(owner, "approve-sheet", sheet.slug, version=sheet.version)
    assert asked.status_code == 422
    assert 'name="sure" value="unsourced"' in asked.content.decode()
    assert not SheetVersion.objects.exists()
    assert press(owner, "approve-sheet", sheet.slug, version=sheet.version, sure="unsourced").status_code == 302


def test_the_only_one_is_asked_why(engineer, page, press):
    sheet = write(engineer, make_sheet(engineer))
    assert "Why nobody else could approve it" in page(engineer, "approve-sheet", sheet.slug)
    assert press(engineer, "approve-sheet", sheet.slug, version=sheet.version).status_code == 422
    press(engineer, "approve-sheet", sheet.slug, version=sheet.version, why_alone="I work alone.")
    version = SheetVersion.objects.get()
    assert version.why_alone == "I work alone."
    assert "I work alone." in page(engineer, "sheet-version", version.pk)


def test_what_is_empty_is_said_before_anybody_presses(engineer, owner, page):
    sheet = write(engineer, make_sheet(engineer), written(wear=""))
    shown = page(owner, "approve-sheet", sheet.slug)
    assert "It says nothing yet under “What to wear”." in shown
    assert 'name="once"' not in shown[shown.index("<main") :]


def test_rules_are_the_owners(owner, engineer, page, press):
    page(engineer, "change-safety-rules", status=403)
    assert "none of them is a standard" in page(owner, "change-safety-rules")
    answer = press(
        owner, "change-safety-rules", version=0, second_person="always", approval_months="6", sheet_years="2"
    )
    assert answer.status_code == 302
    assert queries.safety_rules().approval_months == 6


def test_pages_of_what_cannot_be_pressed_lead_back(engineer, owner, page):
    version = make_in_force(engineer, owner)
    slug = version.sheet.slug
    for name, words in (
        ("drop-draft", "There is no draft of it."),
        ("approve-sheet", "There is no draft of it."),
        ("resume-sheet", "It is kept already."),
    ):
        shown = page(engineer, name, slug)
        assert words in shown
        assert 'class="button"' in shown[shown.index(words) :]
    actions.stop_sheet(by=engineer, once=uuid4(), sheet=version.sheet)
    assert "It is no longer kept already." in page(engineer, "stop-sheet", slug)


def test_what_is_not_there_is_not_found(engineer, page):
    for name in ("hazard-sheet", "hurry-sheet", "write-sheet", "compare-versions"):
        page(engineer, name, "no-such-sheet", status=404)
    page(engineer, "sheet-version", 4711, status=404)


def test_duties_lead_to_sheets(engineer, owner):
    make_sheet(engineer)
    assert duty_sheets.sheet("hot-lamp") == duty_sheets.Sheet("Hot lamp", "/hazards/sheets/hot-lamp/")
    assert duty_sheets.sheet("nothing") is None
    assert list(duty_sheets.all_sheets()) == ["hot-lamp"]


# Cost -----------------------------------------------------------------------------------------------------------------


def test_pages_keep_to_their_queries_however_many_sheets(
    engineer, owner, assistant, client_of, django_assert_max_num_queries
):
    set_rules(second_person="no")
    quill = make_substance()
    counts = []
    for many in (2, 12):
        for number in range(len(HazardSheet.objects.all()), many):
            version = make_in_force(engineer, owner, f"Sheet {number}", substance=quill)
            read(assistant, version)
            write(engineer, version.sheet, written(never="Never look. [a]"))
        slug = version.sheet.slug
        browser, count = client_of(engineer), []
        for name, args in (
            ("hazards", []), ("hazard-sheets", []), ("hazard-sheet", [slug]), ("sheet-version", [version.pk]),
            ("compare-versions", [slug]), ("sheet-reading", []), ("hurry", []), ("hurry-sheet", [slug]),
            ("approve-sheet", [slug]), ("write-sheet", [slug]),
        ):  # fmt: skip
            with django_assert_max_num_queries(12) as asked:
                assert browser.get(reverse(f"safety:{name}", args=args)).status_code == 200
            count.append(len(asked.captured_queries))
        counts.append(count)
    assert counts[0] == counts[1]
