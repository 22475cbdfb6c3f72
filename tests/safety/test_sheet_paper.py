"""A hazard sheet on paper: what stands on it, that all of it stands within the page, that it is kept, and what it says
of itself where it is not in force."""

from datetime import timedelta
from html import unescape
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings
from django.urls import reverse

from shop import clock, paper
from shop.people.models import Room
from shop.safety import actions, queries
from shop.safety.models import CallNumber, Hazard, Part
from shop.safety.papers import sheets
from tests.safety.hazard_sheets import approve, make_in_force, make_sheet, make_substance, set_rules, write, written
from tests.safety.papers import codes, headings, is_accessible, pictures, stands_within, words

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

ADDRESS = "http://cutting-room.local:8000"


@pytest.fixture(autouse=True)
def folder(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "files"


@pytest.fixture
def numbers(room_row):
    CallNumber.objects.create(name="Fire service", number="112", when="Anything burns")
    CallNumber.objects.create(name="Poison centre", number="0800 555 0199", order=2)


@pytest.fixture
def spirit(engineer):
    """A flammable liquid, classed."""
    made = make_substance("Quillspirit", fire_use="Dry powder.", fire_never="A jet of water.")
    Hazard.objects.create(substance=made, hazard_class="flammable-liquid", category="2", h_code="H225")
    return made


@pytest.fixture
def sheet(engineer, owner, numbers, spirit):
    return make_in_force(engineer, owner, "Quillspirit", substance=spirit).sheet


def made(client, sheet, query="", **other):
    answer = client.get(reverse("safety:sheet-pdf", args=[sheet.slug]) + query, **other)
    assert answer["Content-Type"] == "application/pdf", answer.content[:500]
    return answer.content


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_sheet_in_force_is_one_accessible_page_with_all_that_belongs_on_it(
    client_of, visitor, sheet, tmp_path, settings, size
):
    settings.ALLOWED_HOSTS = ["cutting-room.local"]
    Room.objects.update(paper=size)
    pdf = made(client_of(visitor), sheet, headers={"host": "cutting-room.local:8000"})
    (text,) = words(pdf)
    for part in ("Quillspirit", "Version 1, approved by", "Danger", "catches fire", "112", "0800 555 0199"):
        assert part in text
    for part in Part:
        assert f"Of {part.label.lower()}." in text
    assert "Use Dry powder." in text
    assert "Never A jet of water." in text
    assert "safety data sheet" in text
    assert "not in force" not in text.lower()
    stands_within(pdf, size, tmp_path, margin_mm=8)
    is_accessible(pdf, tmp_path)
    (picture,) = pictures(pdf, tmp_path)
    assert codes(picture) == [ADDRESS + sheet.get_absolute_url()]
    assert sheet.get_absolute_url() in "".join(text.split())


def test_what_goes_wrong_stands_after_what_is_read_before(client_of, visitor, sheet):
    (text,) = words(made(client_of(visitor), sheet))
    order = [text.index(f"Of {part.label.lower()}.") for part in (Part.CAN_HURT, Part.WASTE, Part.IF_FIRE)]
    assert order == sorted(order)
    assert headings(made(client_of(visitor), sheet))[0][0] == "H1"


def test_each_source_stands_once_at_the_foot(client_of, engineer, owner, numbers):
    parts = written(never="Never this. [ICSC 1560]\nNor that. [ICSC 1560]\nNor a third. [an old book; from memory]")
    sheet = write(engineer, make_sheet(engineer, "Hot lamp"), parts)
    approve(owner, sheet)
    (text,) = words(made(client_of(engineer), sheet))
    assert text.count("ICSC 1560") == 1
    assert "Nobody has looked this up" in text


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_draft_prints_and_says_on_it_that_it_is_one(client_of, visitor, engineer, numbers, tmp_path, size):
    Room.objects.update(paper=size)
    sheet = write(engineer, make_sheet(engineer, "Hot lamp"))
    pdf = made(client_of(visitor), sheet)
    (text,) = words(pdf)
    assert "DRAFT, NOT IN FORCE" in text
    assert "Draft, not in force. Nobody has approved it" in text
    assert "approved by" not in text
    stands_within(pdf, size, tmp_path, margin_mm=4)
    is_accessible(pdf, tmp_path)
    assert not list(Path(settings.MEDIA_ROOT).glob("hazard-sheets/*/*"))


def test_a_draft_of_a_sheet_in_force_is_had_by_its_name(client_of, engineer, sheet):
    write(engineer, sheet, written(never="Never again. [a]"))
    client = client_of(engineer)
    assert "Never again." not in words(made(client, sheet))[0]
    assert "Never again." in words(made(client, sheet, "?which=draft"))[0]


def test_what_was_superseded_or_withdrawn_or_has_run_out_says_so(client_of, engineer, owner, sheet, numbers):
    client = client_of(engineer)
    second = approve(owner, write(engineer, sheet, written(never="Never again. [a]")))
    assert "Superseded, not in force." in words(made(client, sheet, "?which=1"))[0]
    assert "not in force" not in words(made(client, sheet, "?which=2"))[0]
    actions.withdraw_version(by=owner, once=uuid4(), version=second, why="Wrong.")
    (text,) = words(made(client, sheet, "?which=2"))
    assert "Withdrawn, not in force." in text
    assert "NOT IN FORCE" in text


def test_a_version_that_has_run_out_says_so(client_of, engineer, owner, numbers, at):
    set_rules(approval_months=1)
    with at("2025-03-03 09:00"):
        sheet = make_in_force(engineer, owner, "Hot lamp").sheet
        assert "not in force" not in words(made(client_of(engineer), sheet))[0]
    with at("2025-06-03 09:00"):
        assert "Run out, not in force." in words(made(client_of(engineer), sheet))[0]


def test_what_is_not_there_is_not_found(client_of, engineer, sheet):
    client = client_of(engineer)
    for query in ("?which=7", "?which=x", "?which=" + "9" * 40, "?which=%00"):
        assert client.get(reverse("safety:sheet-pdf", args=[sheet.slug]) + query).status_code == 404
    assert client.get(reverse("safety:sheet-pdf", args=["nothing"])).status_code == 404


def test_a_sheet_without_numbers_leaves_a_line_for_them(client_of, engineer, owner, room_row):
    sheet = make_in_force(engineer, owner, "Hot lamp").sheet
    (text,) = words(made(client_of(engineer), sheet))
    assert "No number is kept here yet" in text


def long(times):
    lines = "\n".join(
        f"Line {n} of a sheet that goes on and on about one thing after another. [a]" for n in range(times)
    )
    return written(**{part.value.replace("-", "_"): lines for part in Part})


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize(("times", "pages"), [(3, 1), (12, 2)])
def test_a_long_sheet_gets_smaller_type_and_says_where_it_takes_more_than_a_page(
    client_of, engineer, owner, numbers, tmp_path, size, times, pages
):
    Room.objects.update(paper=size)
    sheet = write(engineer, make_sheet(engineer, "Hot lamp"), long(times))
    approve(owner, sheet)
    pdf = made(client_of(engineer), sheet)
    found = words(pdf)
    assert (len(found) == 1) == (pages == 1)
    assert ("takes more than one page" in found[0]) == (pages > 1)
    whole = " ".join(found)
    assert whole.count(f"Line {times - 1} of a sheet") == len(Part)
    assert "0800 555 0199" in whole
    stands_within(pdf, size, tmp_path, margin_mm=8)
    is_accessible(pdf, tmp_path)


def test_a_word_without_end_stays_within_the_page(client_of, engineer, owner, numbers, tmp_path):
    sheet = write(engineer, make_sheet(engineer, "W" * 80), written(never="N" * 280 + " [a]"))
    approve(owner, sheet)
    stands_within(made(client_of(engineer), sheet), "A4", tmp_path, margin_mm=8)


# Kept -----------------------------------------------------------------------------------------------------------------


def kept():
    return sorted(Path(settings.MEDIA_ROOT).glob("hazard-sheets/*/*.pdf"))


def test_it_is_made_once_and_kept(client_of, engineer, sheet, monkeypatch):
    client = client_of(engineer)
    first = made(client, sheet)
    assert len(kept()) == 1
    monkeypatch.setattr(paper, "lay_out", lambda *_, **__: pytest.fail("it was made again"))
    assert made(client, sheet) == first


def test_it_is_made_anew_once_something_on_it_changed(client_of, engineer, owner, sheet, spirit):
    client = client_of(engineer)
    made(client, sheet)
    CallNumber.objects.filter(name="Fire service").update(number="113")
    assert "113" in words(made(client, sheet))[0]
    spirit.fire_use = "Sand."
    spirit.save()
    assert "Sand." in words(made(client, sheet))[0]
    Hazard.objects.update(category="1", h_code="H224")
    made(client, sheet)
    Room.objects.update(paper="Letter")
    made(client, sheet)
    assert len(kept()) == 4
    Room.objects.update(name="The other room")
    assert "The other room" in words(made(client, sheet))[0]


def test_kept_papers_do_not_pile_up(client_of, engineer, sheet):
    client = client_of(engineer)
    for n in range(sheets._KEPT + 2):
        CallNumber.objects.filter(name="Fire service").update(number=f"11{n}")
        made(client, sheet)
    assert len(kept()) == sheets._KEPT
    assert not list(Path(settings.MEDIA_ROOT).rglob("*.part"))


def test_without_pango_the_page_says_what_to_install_but_a_kept_one_is_handed_out(
    client_of, engineer, owner, sheet, monkeypatch
):
    client = client_of(engineer)
    first = made(client, sheet)

    def missing():
        raise paper.PaperMissing("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(paper, "load", missing)
    assert made(client, sheet) == first
    other = make_in_force(engineer, owner, "Hot lamp").sheet
    answer = client.get(reverse("safety:sheet-pdf", args=[other.slug]))
    assert answer.status_code == 503
    assert "libpango" in unescape(answer.content.decode())


def test_it_takes_few_queries(client_of, engineer, sheet, django_assert_max_num_queries):
    client = client_of(engineer)
    made(client, sheet)
    with django_assert_max_num_queries(12):
        made(client, sheet)


def test_its_day_is_the_rooms(engineer, owner, sheet):
    version = queries.version_in_force(sheet)
    one = sheets.paper_of_version(version, standing="", address="x", numbers=())
    assert str(clock.day_of(version.at).year) in one.approval[0]
    assert clock.day_of(version.at) <= clock.today() + timedelta(days=0)
