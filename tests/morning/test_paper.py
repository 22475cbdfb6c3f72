"""The paper of a check: one page, made once, kept."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.conf import settings
from pypdf import PdfReader

from shop import clock
from shop import paper as papers
from shop.concern import Grade
from shop.morning import paper
from shop.morning.models import AnswerKind, Question, Verdict
from shop.morning.queries import check_in_full, checks
from shop.people.models import Room
from shop.stock.actions import hold_lot
from tests.morning.makers import (
    CAN,
    blanks,
    book,
    correct_check,
    fit,
    load_starter,
    make_check,
    overrule,
    room_in_order,
)
from tests.stock.makers import make_lot, once

pytestmark = pytest.mark.paper


@pytest.fixture(autouse=True)
def _own_files(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def check(engineer, assistant, at):
    with at("2025-03-03 08:05"):
        load_starter()
        room_in_order(engineer)
        fit(engineer)
        blanks(engineer)
        book(engineer, "A", "B", "C", "D")
        yield make_check(
            assistant, no=["Are today's blanks boxed, cool and out of the light?"], hold_down_kpa=60.0, chip_kpa=12.0,
            heater_ma=600.0,
        )  # fmt: skip


def files(folder):
    return sorted(folder.rglob("*.pdf"))


def text_of(made):
    pages = PdfReader(BytesIO(made)).pages
    return len(pages), " ".join(" ".join(page.extract_text().split()) for page in pages)


def made_for(check, reader, size="A4"):
    return paper.check_pdf(checks().get(pk=check.pk), reader=reader, page_size=size)


@pytest.mark.parametrize(("size", "width_pt"), [("A4", 595), ("Letter", 612)])
def test_one_page_with_verdict_reasons_answers_plan_and_signature(check, assistant, size, width_pt):
    made = made_for(check, assistant, size)
    assert round(float(PdfReader(BytesIO(made)).pages[0].mediabox.width)) == width_pt
    count, text = text_of(made)
    assert count == 1
    for part in (
        "Tindrum Street Cutting Room",
        check.get_verdict_display(),
        "Signed by Asta Pellow",
        "08:05",
        "Are today's blanks boxed",
        "190 bar",
        "B-0001 D",
        "Signature",
        "local fire code",
    ):
        assert part in text, part
    assert " safe " not in text.lower()


@pytest.fixture
def bad_morning(request, engineer, assistant, at):
    """A hold with much to say: four noes with notes, too few blanks, lots on hold (three, or as many as the test asks
    for), sides too long, a worn edge."""
    with at("2025-03-03 08:05"):
        load_starter()
        room_in_order(engineer)
        fit(engineer, expected_h=2.0)
        few = blanks(engineer, 2)
        for number in range(getattr(request, "param", 3)):
            lot = make_lot(engineer, few.item, 30, code=f"TL-2634{number}")
            hold_lot(by=engineer, once=once(), lot=lot, why="The store got warm overnight: look at ten before any.")
        book(engineer, "A", "B", "C", "D")
        book(engineer, "A", "B", code="B-0002", on=clock.today() + timedelta(days=2), play_s=1800)
        noes = list(Question.objects.filter(is_active=True, kind=AnswerKind.YES_NO).values_list("text", flat=True))[:4]
        yield make_check(
            assistant, no=noes, notes=dict.fromkeys(noes, "Found it so at eight; the engineer is told and comes down."),
            hold_down_kpa=60.0, chip_kpa=12.0, heater_ma=600.0,
        )  # fmt: skip


@pytest.mark.parametrize("bad_morning", [3, 8], indirect=True)
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_a_bad_morning_keeps_to_one_page_too(bad_morning, assistant, size):
    assert bad_morning.verdict == Verdict.HOLD
    assert len(bad_morning.concerns) >= 9
    loose = papers.pdf(
        "print/check.html", paper.context(check_in_full().get(pk=bad_morning.pk), reader=assistant), size
    )
    assert text_of(loose)[0] > 1  # else this morning is not bad enough to show anything
    count, text = text_of(made_for(bad_morning, assistant, size))
    assert count == 1
    assert "Signature, Asta Pellow" in text
    for one in bad_morning.concerns:
        assert " ".join(one["headline"].split()) in text
        assert one["grade"] == Grade.NOTE or one["what_to_do"].split(".")[0] in text


def test_each_reason_names_its_subject(bad_morning, assistant):
    text = text_of(made_for(bad_morning, assistant))[1]
    for one in bad_morning.concerns:
        assert one["subject"] in text, one
    assert "14-inch blank, lot TL-26340: Lot TL-26340 is on hold" in text


def test_a_note_to_a_no_is_said_once(bad_morning, assistant):
    assert text_of(made_for(bad_morning, assistant))[1].count("Found it so at eight") == 4


def test_is_made_once_and_then_read_from_its_file(check, assistant, tmp_path, monkeypatch):
    first = made_for(check, assistant)
    assert len(files(tmp_path)) == 1
    monkeypatch.setattr(papers, "pdf", lambda *a, **k: pytest.fail("made again"))
    assert made_for(check, assistant) == first


def test_is_handed_out_as_a_pdf_with_a_name(check, assistant, client_of, monkeypatch):
    client = client_of(assistant)
    first = client.get(f"/checks/{check.pk}/check.pdf")
    assert first["Content-Type"] == "application/pdf"
    assert first["Content-Disposition"] == f'inline; filename="check-2025-03-03-{check.pk}.pdf"'
    monkeypatch.setattr(papers, "pdf", lambda *a, **k: pytest.fail("made again"))
    assert client.get(f"/checks/{check.pk}/check.pdf").content == first.content


def test_each_choice_of_units_and_paper_has_its_own(check, assistant, engineer, tmp_path):
    engineer.pressure_unit = "psi"
    engineer.save()
    assert "2756 psi" in text_of(made_for(check, engineer))[1]
    assert "190 bar" in text_of(made_for(check, assistant))[1]
    made_for(check, assistant, "Letter")
    assert len(files(tmp_path)) == 3


def test_names_nobody_it_was_printed_for(check, assistant, engineer):
    first = made_for(check, engineer)
    assert "Edvin" not in text_of(first)[1]
    assert made_for(check, assistant) == first


def test_a_correction_and_an_overruling_alter_it(check, assistant, engineer, tmp_path):
    made_for(check, assistant)
    overrule(engineer, check, "Carried in a minute ago.")
    assert "Overruled by Edvin Maarsk" in text_of(made_for(check, assistant))[1]
    fresh = correct_check(engineer, check, note="Boxed now.", hold_down_kpa=60.0, chip_kpa=12.0, heater_ma=600.0)
    assert "Corrected at 08:05 by Edvin Maarsk" in text_of(made_for(check, assistant))[1]
    assert "In place of the check of 08:05: Boxed now." in text_of(made_for(fresh, assistant))[1]
    assert len(files(tmp_path)) == 4


def test_keeps_the_name_the_room_had(check, assistant):
    Room.objects.update(name="Another Room")
    assert "Tindrum Street" in text_of(made_for(check, assistant))[1]


def test_markup_in_a_note_stays_text(engineer, assistant, at):
    with at("2025-03-03 08:05"):
        from tests.morning.makers import make_list

        room_in_order(engineer)
        make_list(engineer)
        check = make_check(assistant, no=[CAN], notes={CAN: "<img src=file:///etc/passwd>"})
        assert "<img src=file:///etc/passwd>" in text_of(made_for(check, assistant))[1]


def test_without_pango_a_page_says_what_is_missing(check, assistant, client_of, monkeypatch, caplog):
    def missing():
        raise papers.PaperMissing("no pango")

    monkeypatch.setattr(papers, "load", missing)
    answer = client_of(assistant).get(f"/checks/{check.pk}/check.pdf")
    assert answer.status_code == 503
    assert "Pango" in answer.content.decode()
    assert client_of(assistant).get(f"/checks/{check.pk}/paper/").status_code == 200


def test_a_visitor_may_read_it_and_a_stranger_not(check, visitor, client, client_of):
    assert client_of(visitor).get(f"/checks/{check.pk}/check.pdf").status_code == 200
    answer = client.get(f"/checks/{check.pk}/check.pdf")
    assert answer.status_code == 302
    assert answer["Location"].startswith(f"/{settings.LOGIN_URL.replace(':', '/')}/")
