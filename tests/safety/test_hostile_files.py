"""What somebody might send in place of a sheet is refused with its reason, and nothing of it is left on the disk."""

import errno
import io
import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import quote

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from shop.demo.safety.plain_pdf import plain_pdf
from shop.safety.sheet_files import first_look, kept, looking
from shop.safety.sheet_files.first_look import NotTaken
from tests.safety.hostile import CORPUS, circle_of_tables, good, one_page, packed_away, stream
from tests.safety.sheets import make_substance, upload

pytestmark = pytest.mark.paper


@pytest.fixture
def folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def lying(folder):
    return [file for file in folder.rglob("*") if file.is_file()]


@pytest.mark.parametrize("case", CORPUS)
def test_it_is_refused_with_its_reason_and_nothing_is_left(case, folder):
    name, make, reason = CORPUS[case]
    sent = upload(make(), "a.pdf")
    sent._name = name  # what a browser sends; Django's own cleaning is not relied on
    with pytest.raises(NotTaken) as no:
        kept.keep(sent)
    assert reason in str(no.value)
    assert str(no.value)[0].isupper()
    assert lying(folder) == []


def test_the_corpus_has_a_reason_for_each_case_but_those_that_may_fail_in_two_ways():
    assert {case for case, (_, _, reason) in CORPUS.items() if not reason} == {
        "a bomb in its table",
        "nested",
        "pages in a circle",
    }


@pytest.mark.parametrize(
    "content",
    [
        good(),
        good(more=b"/OpenAction [6 0 R /Fit]"),
        good(more=b"/OpenAction << /S /GoTo /D [6 0 R /Fit] >>"),
        good(more=b"/Lang (de) /PageLabels << /Nums [0 << /S /D >>] >>"),
        packed_away(b"/A << /S /URI /URI (http://supplier.example) >>"),
        one_page(stream(b"BT ET"), extra=(stream(b"42 54 20 45 54>", b"/Filter /ASCIIHexDecode"),)),
        good() + b"\r\n \x00",
        circle_of_tables(),
    ],
)
def test_a_plain_sheet_is_taken_as_it_came(content, folder):
    sheet = kept.keep(upload(content))
    assert kept.file_of(sheet.name).read_bytes() == content
    assert oct(kept.file_of(sheet.name).stat().st_mode)[-3:] == "600"


def test_what_other_programs_write_is_taken(folder):
    weasyprint = pytest.importorskip("weasyprint")
    page = "<html lang=en><title>Wash</title><h1>SECTION 4: First-aid measures</h1><p><a href='http://a.example'>a</a>"
    for variant in (None, "pdf/ua-1"):
        sheet = kept.keep(upload(weasyprint.HTML(string=page).write_pdf(pdf_variant=variant)))
        assert (sheet.pages, sheet.first_pages) == (1, {"4": 1})


def test_a_file_over_the_size_is_refused_before_it_is_read(folder, monkeypatch):
    monkeypatch.setattr(kept, "MOST_BYTES", 100)
    with pytest.raises(NotTaken, match="the most that is taken"):
        kept.keep(SimpleNamespace(size=101, name="a.pdf", read=lambda: pytest.fail("it was read")))
    monkeypatch.setattr(first_look, "MOST_BYTES", 100)
    with pytest.raises(NotTaken, match="the most that is taken"):
        first_look.looked_at("a.pdf", good())


def test_a_reader_that_takes_too_long_is_ended_and_said_so(folder, monkeypatch, tmp_path):
    asleep = tmp_path / "asleep.py"
    asleep.write_text(
        "import time, os, sys\nprint(os.getpid(), file=open(sys.argv[0] + '.pid', 'w'))\ntime.sleep(60)\n"
    )
    monkeypatch.setattr(looking, "_READER", asleep)
    monkeypatch.setattr(looking, "MOST_SECONDS", 1)
    with pytest.raises(NotTaken, match="takes too long"):
        looking.looked_through(good())
    pid = int(Path(f"{asleep}.pid").read_text())
    assert not Path(f"/proc/{pid}").exists()


@pytest.mark.parametrize("says", ["nonsense", "[]", '{"refused": "<b>"}', "{}"])
def test_a_reader_that_says_something_else_is_not_believed(says, folder, monkeypatch, tmp_path):
    other = tmp_path / "other.py"
    other.write_text(f"import sys\nsys.stdin.buffer.read()\nprint({says!r})\n")
    monkeypatch.setattr(looking, "_READER", other)
    with pytest.raises(NotTaken, match="damaged"):
        looking.looked_through(good())


def test_the_reader_may_write_nothing_takes_little_memory_and_knows_nothing_of_the_room():
    code = (
        "import runpy, sys\n"
        f"reader = runpy.run_path({str(looking._READER)!r})\n"
        "reader['bound'](300_000_000, 5)\n"
        "try:\n    bytearray(400_000_000)\n    print('memory')\nexcept MemoryError:\n    print('no memory')\n"
        "try:\n    with open(sys.argv[1], 'w') as file:\n        file.write('x')\n    print('wrote')\n"
        "except OSError:\n    print('wrote nothing')\n"
    )
    file = Path(settings.MEDIA_ROOT) / "written-by-a-reader"
    file.parent.mkdir(parents=True, exist_ok=True)
    told = subprocess.run(
        [sys.executable, "-I", "-c", code, str(file)], capture_output=True, text=True, check=False, env={}
    )
    assert told.stdout.splitlines() == ["no memory", "wrote nothing"]
    assert file.stat().st_size == 0
    file.unlink()
    source = looking._READER.read_text()
    assert "import shop" not in source
    assert "from shop" not in source


def test_words_that_take_too_long_fail_nothing(folder, monkeypatch):
    monkeypatch.setattr(looking, "CAPS", looking.CAPS | {"seconds": 0})
    many = plain_pdf([["# SECTION 4: First-aid measures"]] * 30)
    # no time at all for the words: the system's own bound would end it, so only the reader's clock is moved
    monkeypatch.setattr(looking, "_READER", _without_bounds(folder))
    looked = looking.looked_through(many)
    assert looked.pages == 30
    assert len(looked.texts) < 30


def _without_bounds(folder):
    source = looking._READER.read_text().replace('    bound(caps["memory"], caps["seconds"])\n', "")
    other = folder / "reader.py"
    other.write_text(source)
    return other


def test_a_full_disk_is_said_so_and_nothing_half_written_stays(folder, monkeypatch):
    def full(number):
        raise OSError(errno.ENOSPC, "no space left")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NotTaken, match="no room left on this machine's disk, so nothing was kept"):
        kept.keep(upload())
    assert lying(folder) == []


def test_a_full_disk_is_a_clear_page(folder, monkeypatch, engineer, client_of):
    def full(number):
        raise OSError(errno.ENOSPC, "no space left")

    monkeypatch.setattr(os, "fsync", full)
    address = reverse("safety:add-supplier-sheet", args=[make_substance().slug])
    answer = client_of(engineer).post(address, {"file": upload()})
    assert answer.status_code == 422
    assert "no room left on this machine" in answer.content.decode()
    assert lying(folder) == []


def test_the_page_says_the_reason_at_the_box(folder, engineer, client_of):
    address = reverse("safety:add-supplier-sheet", args=[make_substance().slug])
    answer = client_of(engineer).post(address, {"file": SimpleUploadedFile("a.pdf", b"\x89PNG\r\n\x1a\n" + b"0" * 90)})
    assert answer.status_code == 422
    seen = " ".join(answer.content.decode().split())
    assert "Not taken" in seen
    assert "That is a PNG picture, not a PDF, whatever its name says." in seen
    assert "Error: " in seen


def test_a_name_that_tries_to_get_out_of_the_folder_gets_nowhere(folder, engineer, client_of):
    content = plain_pdf([["One"]])
    body = (
        b"--x\r\nContent-Disposition: form-data; name=\"file\"; filename*=UTF-8''"
        + quote("../../etc/a.pdf").encode()
        + b"\r\nContent-Type: application/pdf\r\n\r\n"
        + content
        + b"\r\n--x--\r\n"
    )
    address = reverse("safety:add-supplier-sheet", args=[make_substance().slug])
    answer = client_of(engineer).generic("POST", address, body, content_type="multipart/form-data; boundary=x")
    assert answer.status_code == 200
    (file,) = lying(folder)
    assert file.is_relative_to(folder / "supplier-sheets")
    assert "etc" not in str(file)
    assert io.BytesIO(file.read_bytes()).read(5) == b"%PDF-"
