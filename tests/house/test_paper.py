"""Papers: made in the room's paper, from our own files only, and done without where Pango is missing."""

from io import BytesIO
from pathlib import Path
from threading import Thread
from typing import Any
from wsgiref.simple_server import make_server

import pypdf
import pytest
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory

from shop import paper, picture
from shop.people.models import Paper, Person, Room
from tests.safety.papers import words as read

CANARY = """{% extends "print/base.html" %}
{% block title %}Canary{% endblock %}
{% block main %}<h1>Canary</h1><img src="ADDRESS" alt="">
<object data="ADDRESS"></object><a rel="attachment" href="ADDRESS">x</a>{% endblock %}"""


@pytest.fixture
def templates(tmp_path: Path, settings: Any) -> Path:
    """A folder for templates of this test, besides the room's own."""
    ours = [{**settings.TEMPLATES[0], "DIRS": [tmp_path, *settings.TEMPLATES[0]["DIRS"]]}]
    settings.TEMPLATES = ours
    return tmp_path


def text_of(made: bytes) -> str:
    words = "\n".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(made)).pages)
    return words.replace("\u00a0", " ")


@pytest.mark.parametrize(("size", "width", "height"), [("A4", 595.28, 841.89), ("Letter", 612, 792)])
def test_is_made_in_the_paper_asked_for(templates: Path, size: str, width: float, height: float) -> None:
    (templates / "one.html").write_text(
        '{% extends "print/base.html" %}{% block main %}<h1>Kept {{ thing }}</h1>{% endblock %}'
    )
    made = paper.pdf("one.html", {"room": Room(name="Tindrum Street"), "thing": "<b>well</b>"}, size)
    box = pypdf.PdfReader(BytesIO(made)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((width, height), abs=0.1)
    words = text_of(made)
    assert "Kept <b>well</b>" in words
    assert "1 of 1" in words
    assert "safety data" in words


def test_all_papers_of_a_room_can_be_made() -> None:
    assert set(paper.PAGE_SIZES) == set(Paper.values)


def test_refuses_an_unknown_paper() -> None:
    with pytest.raises(ValueError, match="page_size must be one of A4, Letter"):
        paper.pdf("print/base.html", {}, "A0")


def test_holds_pictures(templates: Path) -> None:
    figure = picture.new_figure()
    figure.add_subplot().plot([0, 1], [0, 1])
    drawn = picture.svg(figure, title="Gauge", describes="It rises.")
    (templates / "two.html").write_text('{% extends "print/base.html" %}{% block main %}{{ drawn }}{% endblock %}')
    with_picture = paper.pdf("two.html", {"drawn": drawn}, "A4")
    without = paper.pdf("two.html", {"drawn": ""}, "A4")
    assert len(with_picture) > len(without) + 500
    assert "0.6" in text_of(with_picture)  # a number of the scale


def test_calls_no_other_host(templates: Path) -> None:
    asked: list[str] = []

    def answer(environ: dict[str, Any], start: Any) -> list[bytes]:
        asked.append(environ["PATH_INFO"])
        start("200 OK", [("Content-Type", "text/plain")])
        return [b"canary"]

    with make_server("127.0.0.1", 0, answer) as server:
        listening = Thread(target=server.serve_forever, daemon=True)
        listening.start()
        address = f"http://127.0.0.1:{server.server_port}/canary"
        (templates / "three.html").write_text(CANARY.replace("ADDRESS", address))
        made = paper.pdf("three.html", {}, "A4")
        server.shutdown()
        listening.join()
    assert "Canary" in text_of(made)
    assert asked == []


@pytest.mark.parametrize(
    "address", ["file://{kept}", "static:../../settings.py", "static:{kept}", "data:text/plain,canary"]
)
def test_reads_no_file_but_our_static_ones(templates: Path, tmp_path: Path, address: str) -> None:
    kept = tmp_path / "kept.txt"
    kept.write_text("canary")
    address = address.format(kept=kept)
    (templates / "four.html").write_text(CANARY.replace("ADDRESS", address))
    reader = pypdf.PdfReader(BytesIO(paper.pdf("four.html", {}, "A4")))
    assert reader.attachments == {}
    _, fetcher = paper.load()
    with pytest.raises(ValueError, match="static file"):
        fetcher().fetch(address)


def test_fetches_our_static_files() -> None:
    _, fetcher = paper.load()
    answer = fetcher().fetch("static:shop/paper.css")
    assert answer.content_type == "text/css"
    assert b"@page" in answer.read()


@pytest.fixture
def request_of_owner(owner: Person, room_row: Room) -> HttpRequest:
    request = RequestFactory().get("/")
    request.user = owner
    request.room = room_row  # type: ignore[attr-defined]
    request.resolver_match = None
    return request


def test_answers_with_the_pdf(templates: Path, request_of_owner: HttpRequest) -> None:
    (templates / "five.html").write_text(
        '{% extends "print/base.html" %}{% block main %}{% quantity 100 "pressure" %}{% endblock %}'
    )
    request_of_owner.user.pressure_unit = "psi"  # type: ignore[union-attr]
    answer = paper.pdf_response(request_of_owner, "five.html", {}, name="Check of 3 June")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="check-of-3-june.pdf"'
    words = text_of(answer.content)
    assert "1450 psi" in words
    assert "Tindrum Street Cutting Room" in words
    assert "for Orla Tindrum" in words


def test_says_what_to_install_without_pango(request_of_owner: HttpRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing() -> None:
        raise paper.PaperMissing("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(paper, "load", missing)
    answer: HttpResponse = paper.pdf_response(request_of_owner, "print/base.html", {}, name="x")
    assert answer.status_code == 503
    assert "libpango-1.0-0" in answer.content.decode()


def test_a_missing_library_is_told_as_such(monkeypatch: pytest.MonkeyPatch) -> None:
    paper.load.cache_clear()

    def no_library(name: str, *rest: Any, **more: Any) -> Any:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *rest, **more)

    import builtins

    real = builtins.__import__
    monkeypatch.setattr(builtins, "__import__", no_library)
    with pytest.raises(paper.PaperMissing, match="libpango"):
        paper.load()


def test_a_paper_says_which_letters_it_has_no_font_for(
    templates: Path, room_row: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    (templates / "letters.html").write_text(
        '{% extends "print/base.html" %}{% block title %}L{% endblock %}'
        "{% block main %}<h1>{{ said }}</h1>{% endblock %}"
    )

    def words(said: str) -> str:
        # pypdf reads a font with a letter that is not there by two bytes each.
        return " ".join(read(paper.pdf("letters.html", {"room": room_row, "said": said}, "A4"))).replace("\0", "")

    assert "can't be printed" not in words("Grüße, 33⅓ µm")
    monkeypatch.setattr(paper, "_has_letter", lambda letter: letter not in "日本語")
    assert paper.letters_missing("日本 Ω 日") == "日本"
    assert "Some letters can't be printed here." in words("日本語")
    assert "can't be printed" not in words("Ω")


def test_letters_are_looked_for_in_the_fonts_that_are_there() -> None:
    """A noncharacter of a plane that nobody fills has no glyph anywhere; every text font has omega."""
    assert paper._has_letter("Ω")
    assert not paper._has_letter("\U0003ffff")
