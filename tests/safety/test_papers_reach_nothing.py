"""Whatever people type, setting it on paper reads no file and calls no host: a server and a file nobody may touch."""

import sys
from io import BytesIO
from pathlib import Path
from threading import Thread
from uuid import uuid4
from wsgiref.simple_server import make_server

import pypdf
import pytest
from django.urls import reverse

from shop import paper
from shop.people.models import Room
from shop.safety import actions
from shop.safety.models import CallNumber, Extinguisher, ShutOff, Substance
from shop.safety.papers import binder
from tests.safety.hazard_sheets import approve, make_sheet, make_substance, write, written
from tests.safety.papers import words

pytestmark = [pytest.mark.django_db, pytest.mark.paper]

#: What would fetch, embed or attach something, were it not taken as mere text.
BAITS = (
    '<img src="{}">',
    '<link rel="attachment" href="{}">',
    '<a rel="attachment" href="{}">x</a>',
    '<object data="{}"></object>',
    "<style>@import url({})</style>",
    '</title><link rel="stylesheet" href="{}">',
    '<svg><image href="{}"/></svg>',
    '<svg><use href="{}#a"/></svg>',
    "<p style=\"background:url('{}')\">",
)
_SECRET = "no-paper-may-hold-this"
_opened: list[str] = []


def _hears(event: str, told: tuple[object, ...]) -> None:
    if event == "open" and str(told[0]).endswith("canary.svg"):
        _opened.append(str(told[0]))


sys.addaudithook(_hears)


@pytest.fixture
def canary(tmp_path):
    """The addresses of a server and of a file, and what was asked of the server."""
    asked = []

    def answer(environ, start):
        asked.append(environ["PATH_INFO"])
        start("200 OK", [("Content-Type", "text/plain")])
        return [_SECRET.encode()]

    file = tmp_path / "canary.svg"
    file.write_text(f'<svg xmlns="http://www.w3.org/2000/svg"><text>{_SECRET}</text></svg>')
    _opened.clear()
    with make_server("127.0.0.1", 0, answer) as server:
        listening = Thread(target=server.serve_forever, daemon=True)
        listening.start()
        yield [f"http://127.0.0.1:{server.server_port}/c", f"file://{file}", f"static:../../{file}"], asked
        server.shutdown()
        listening.join()


def untouched(made, asked):
    reader = pypdf.PdfReader(BytesIO(made))
    assert asked == []
    assert _opened == []
    assert reader.attachments == {}
    assert _SECRET not in " ".join(words(made))
    everything = [reader.get_object(number) for number in range(1, reader.trailer["/Size"])]
    assert len(everything) > 5
    assert not any(_SECRET.encode() in one.get_data() for one in everything if hasattr(one, "get_data"))


def test_the_canaries_sing(canary):
    """That the server answers and the file is read, if somebody does: else the tests below would show nothing."""
    from urllib.request import urlopen

    addresses, asked = canary
    file = Path(addresses[1].removeprefix("file://"))
    with urlopen(addresses[0]) as answer:
        assert answer.read().decode() == _SECRET
    assert asked == ["/c"]
    assert _SECRET in file.read_text()
    assert _opened == [str(file)]


def test_what_is_typed_on_a_sheet_a_label_the_wall_or_the_room_fetches_nothing(
    client_of, engineer, owner, room_row, canary, settings, tmp_path
):
    settings.MEDIA_ROOT = tmp_path / "files"
    addresses, asked = canary
    texts = [bait.format(address) for address in addresses for bait in BAITS]
    Room.objects.update(name=texts[0][:80])
    for text in texts[:8]:
        CallNumber.objects.create(name=text[:80], number=f"1 {text[:38]}", when=text[:120])
        ShutOff.objects.create(what=text[:80], where=text[:120], how=text[:120])
        Extinguisher.objects.create(kind=text[:80], where=text[:120], use_on=text[:120], never_on=text[:120])
    baited = make_substance(
        "<img src=http://x/>", slug="baited", fire_use=texts[0], fire_never=texts[9], other_names=texts[18][:200]
    )
    sheet = make_sheet(engineer, "<link rel=attachment href=http://y/>", "baited", substance=baited)
    lines = "\n".join(f"{text} [{text}]" for text in texts[:10])
    parts = written(
        never=lines,
        can_hurt="\n".join(f"{text} [a]" for text in texts[10:20]),
        if_fire="\n".join(f"{text} [a]" for text in texts[20:]),
    )
    approve(owner, write(engineer, sheet, parts))
    client = client_of(engineer)
    asks = {"substance": baited.pk, "form": "short", "size": "drum", "copies": 1, "paper": "A4", "start": 1}
    asks |= {"filled_on": "2025-01-02", "filled_by": texts[0][:60]}
    for name, given in (("sheet-pdf", {}), ("wall-card", {}), ("labels-pdf", asks)):
        answer = client.get(reverse(f"safety:{name}", args=["baited"] if name == "sheet-pdf" else []), given)
        assert answer.status_code == 200, answer.content[:1500]
        assert answer["Content-Type"] == "application/pdf"
        untouched(answer.content, asked)
    row = actions.make_binder(by=engineer, once=uuid4(), paper="A4", opens="http://a")
    assert binder.carry_on(row.pk)
    row.refresh_from_db()
    untouched(binder.file_of(row).read_bytes(), asked)
    assert Substance.objects.count() == 1


def test_even_as_markup_it_fetches_nothing(canary):
    """Were some text ever to slip through unescaped: the fetcher still gives only our own static files."""
    addresses, asked = canary
    more = ('<svg><style>@import "{}";</style></svg>', '<svg><filter href="{}"/></svg>', '<iframe src="{}"></iframe>')
    baits = "".join(bait.format(address) for address in addresses for bait in (*BAITS, *more) if "title" not in bait)
    html = f'<!doctype html><html lang="en"><title>x</title><body><p>Kept</p>{baits}</body></html>'
    untouched(paper.set_in_type(html, "").pdf(), asked)
    head = "".join(f'<link rel="stylesheet" href="{address}"><base href="{address}">' for address in addresses)
    html = f'<!doctype html><html lang="en"><head><title>x</title>{head}</head><body><p>Kept</p></body></html>'
    untouched(paper.set_in_type(html, "").pdf(), asked)
