"""Files that somebody might send in place of a supplier's sheet, made here, each with a part of the reason why not."""

import io
import zipfile
import zlib
from collections.abc import Callable

from pypdf import PdfReader, PdfWriter
from pypdf.actions import JavaScript

from shop.demo.safety.plain_pdf import plain_pdf, whole
from tests.duties.makers import picture

PAGES = [["# SECTION 1: Identification", "Spindle wash"], ["# SECTION 4: First-aid measures"]]
FONT = b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>"


def good(*, more: bytes = b"", extra: tuple[bytes, ...] = ()) -> bytes:
    """A plain sheet of two pages. more: goes into its catalogue; extra: objects from number 5 on."""
    return plain_pdf(PAGES, more=more, extra=extra)


def zipped(name: str = "a.txt") -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr(name, "hello " * 40)
    return made.getvalue()


def written(change: Callable[[PdfWriter], object]) -> bytes:
    """A sheet as pypdf writes it, with something done to it."""
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(good())))
    change(writer)
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


def one_page(contents: bytes, *, page: bytes = b"", extra: tuple[bytes, ...] = ()) -> bytes:
    """A file of one page with this content stream object (dictionary and all), number 4."""
    return whole(
        [
            b"<< /Type /Catalog /Pages 2 0 R >>",
            b"<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
            b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R %s >>" % page,
            contents,
            *extra,
        ]
    )


def stream(data: bytes, entries: bytes = b"") -> bytes:
    return b"<< /Length %d %s >>\nstream\n%s\nendstream" % (len(data), entries, data)


def packed_away(entries: bytes) -> bytes:
    """A sheet whose page carries `entries` in an object stream, where no search of the plain bytes finds them."""
    inner = b"<< /Type /Annot /Subtype /Link /Rect [0 0 9 9] %s >>" % entries
    kids = b"6 0 " + inner
    held = zlib.compress(kids)
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R /Annots [6 0 R] >>",
        stream(b"BT ET"),
        b"<< /Type /ObjStm /N 1 /First 4 /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(held), held),
    ]
    made = bytearray(b"%PDF-1.7\n")
    places = [0]
    for number, body in enumerate(bodies, 1):
        places.append(len(made))
        made += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start = len(made)
    rows = b"".join(b"\x01" + place.to_bytes(4, "big") + b"\x00" for place in places[1:])
    rows = b"\x00" + b"\x00" * 4 + b"\xff" + rows + b"\x02" + (5).to_bytes(4, "big") + b"\x00"
    rows += b"\x01" + start.to_bytes(4, "big") + b"\x00"
    table = zlib.compress(rows)
    made += b"7 0 obj\n<< /Type /XRef /Size 8 /W [1 4 1] /Root 1 0 R /Length %d /Filter /FlateDecode >>\n" % len(table)
    made += b"stream\n%s\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n" % (table, start)
    return bytes(made)


def layered(data: bytes, times: int) -> bytes:
    for _ in range(times):
        data = zlib.compress(data, 9)
    return data


def _nested(depth: int) -> bytes:
    return good(more=b"/Deep " + b"[" * depth + b"]" * depth)


def _circle_of_pages() -> bytes:
    return whole(
        [
            b"<< /Type /Catalog /Pages 2 0 R >>",
            b"<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
            b"<< /Type /Pages /Parent 2 0 R /Count 1 /Kids [2 0 R] >>",
        ]
    )


def circle_of_tables() -> bytes:
    made = good()
    start = made.rindex(b"startxref\n")
    at = int(made[start + 10 :].split()[0])
    return made.replace(b"/Root 1 0 R ", b"/Root 1 0 R /Prev %d " % at)


def _wrong_startxref() -> bytes:
    before, mark, _ = good().rpartition(b"startxref\n")
    return before + mark + b"7\n%%EOF\n"


def _shifted_table() -> bytes:
    """Every place in the table is wrong."""
    return good().replace(b"%PDF-1.7\n", b"%PDF-1.7\n%  something longer\n")


MB = 1_000_000
CORPUS: dict[str, tuple[str, Callable[[], bytes], str]] = {
    # What it is not, whatever it is called
    "nothing": ("a.pdf", lambda: b"", "is empty"),
    "html": ("a.pdf", lambda: b"<!doctype html><title>x</title><script>alert(1)</script>", "a web page or a drawing"),
    "svg": ("a.pdf", lambda: b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', "a web page or a drawing"),
    "xml": ("a.pdf", lambda: b'\xef\xbb\xbf<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]>', "a web page or a dr"),
    "png": ("a.pdf", lambda: picture(form="PNG"), "a PNG picture"),
    "jpeg": ("a.pdf", picture, "a JPEG picture"),
    "zip": ("a.pdf", zipped, "a ZIP archive"),
    "program": ("a.pdf", lambda: b"MZ\x90\x00" + b"\x00" * 200, "a program"),
    "script": ("a.pdf", lambda: b"#!/bin/sh\necho\n", "a program"),
    "text": ("a.pdf", lambda: b"Safety data sheet", "not a PDF, whatever its name says"),
    "only the first bytes": ("a.pdf", lambda: b"%PDF-1.7\n", "Its end is missing"),
    "first bytes and end": ("a.pdf", lambda: b"%PDF-1.7\nnothing\n%%EOF\n", "damaged"),
    # What it is called
    "a web page by name": ("a.html", good, "Only PDF files"),
    "no ending": ("sheet", good, "Only PDF files"),
    "only an ending": (".pdf", good, "Only PDF files"),
    "a program behind": ("a.pdf.exe", good, "Only PDF files"),
    "a program before": ("a.exe.pdf", good, "two endings"),
    "a drawing before": ("a.SVG.pdf", good, "two endings"),
    "turned round": ("a\u202efdp.pdf", good, "signs that cannot be seen"),
    "a null in it": ("a.exe\x00.pdf", good, "signs that cannot be seen"),
    # Two files in one
    "something before": ("a.pdf", lambda: b"GIF89a" + good(), "before its beginning"),
    "a page before": ("a.pdf", lambda: b"<html><!--" + good(), "before its beginning"),
    "an archive after": ("a.pdf", lambda: good() + zipped(), "after its end"),
    "a page after": ("a.pdf", lambda: good() + b"<script>alert(1)</script>", "after its end"),
    "an archive within": ("a.pdf", lambda: good(extra=(stream(zipped()),)), "an archive as well"),
    "a rar within": ("a.pdf", lambda: good(extra=(stream(b"Rar!\x1a\x07\x01\x00" + b"x" * 99),)), "an archive as well"),
    "a page within": ("a.pdf", lambda: good(extra=(stream(b"<html><script>1</script></html>"),)), "a web page as well"),
    "php within": ("a.pdf", lambda: good(extra=(stream(b"<?php echo 1; __HALT_COMPILER();"),)), "a program as well"),
    "a tape within": (
        "a.pdf",
        lambda: good().replace(b"%\xe2\xe3\xcf\xd3\n", b"%" + b"0" * 247 + b"ustar" + b"0" * 9 + b"\n"),
        "another kind of file",
    ),
    "two PDFs": ("a.pdf", lambda: good() + good(), "second PDF"),
    "a PDF within": ("a.pdf", lambda: good(extra=(stream(good()),)), "second PDF"),
    # What it would do
    "javascript": ("a.pdf", lambda: written(lambda w: w.add_open_action(JavaScript("app.alert(1)"))), "holds a script"),
    "javascript, spelled": ("a.pdf", lambda: good(extra=(b"<< /S /J#61vaScript /J#53 (1) >>",)), "holds a script"),
    "javascript, packed": ("a.pdf", lambda: packed_away(b"/A << /S /JavaScript /JS (1) >>"), "holds a script"),
    "javascript that nothing leads to": ("a.pdf", lambda: good() + b"% /JavaScript\n%%EOF\n", "holds a script"),
    "launch": ("a.pdf", lambda: good(more=b"/OpenAction << /S /Launch /F (cmd.exe) >>"), "start another program"),
    "launch, packed": ("a.pdf", lambda: packed_away(b"/A << /S /Launch /F (a) >>"), "start another program"),
    "another file": ("a.pdf", lambda: packed_away(b"/A << /S /GoToR /F (b.pdf) /D [0] >>"), "start another program"),
    "open a page of the web": (
        "a.pdf",
        lambda: good(more=b"/OpenAction << /S /URI /URI (http://a.example) >>"),
        "itself",
    ),
    "open, then": (
        "a.pdf",
        lambda: good(more=b"/OpenAction << /S /GoTo /D [0 /Fit] /Next << /S /Named /N /Print >> >>"),
        "by itself",
    ),
    "open by another way": (
        "a.pdf",
        lambda: good(more=b"/OpenAction 5 0 R", extra=(b"<< /S /Named /N /Print >>",)),
        "itse",
    ),
    "on turning a page": ("a.pdf", lambda: good(more=b"/AA << /WC << /S /Named /N /Print >> >>"), "by itself"),
    "sends a form": ("a.pdf", lambda: packed_away(b"/A << /S /SubmitForm /F (http://a.example) >>"), "send what"),
    "embedded file": ("a.pdf", lambda: written(lambda w: w.add_attachment("a.exe", b"MZ")), "file is embedded"),
    "embedded, packed": ("a.pdf", lambda: packed_away(b"/FS << /Type /Filespec /EF << >> >>"), "file is embedded"),
    "content elsewhere": ("a.pdf", lambda: one_page(stream(b"", b"/F (/etc/passwd)")), "file is embedded"),
    "xfa": ("a.pdf", lambda: good(more=b"/AcroForm << /XFA 5 0 R /Fields [] >>", extra=(stream(b"<x/>"),)), "XFA"),
    "rich media": ("a.pdf", lambda: good(extra=(b"<< /Type /Annot /Subtype /RichMedia >>",)), "film, sound"),
    "rich media, packed": ("a.pdf", lambda: packed_away(b"/RichMediaContent << >>"), "film, sound"),
    "film": ("a.pdf", lambda: packed_away(b"/A << /S /Rendition >>"), "film, sound"),
    # Locked
    "encrypted": ("a.pdf", lambda: written(lambda w: w.encrypt("a", algorithm="RC4-128")), "locked"),
    "encrypted, opens for all": (
        "a.pdf",
        lambda: written(lambda w: w.encrypt("", owner_password="b", algorithm="RC4-128")),
        "locked",
    ),
    # Too much
    "a bomb": (
        "a.pdf",
        lambda: one_page(stream(layered(bytes(60 * MB), 1), b"/Filter /FlateDecode")),
        "far larger than",
    ),
    "a bomb in a bomb": (
        "a.pdf",
        lambda: one_page(stream(layered(bytes(60 * MB), 3), b"/Filter [/FlateDecode /FlateDecode /FlateDecode]")),
        "far larger than",
    ),
    "many small bombs": (
        "a.pdf",
        lambda: one_page(stream(b""), extra=(stream(layered(bytes(20 * MB), 1), b"/Filter /Fl"),) * 9),
        "far larger than",
    ),
    "a bomb of runs": (
        "a.pdf",
        lambda: one_page(stream(b"\x81\x00" * 400_000 + b"\x80", b"/Filter /RunLengthDecode")),
        "far larger than",
    ),
    "a bomb in its table": (
        "a.pdf",
        lambda: packed_away(b"").replace(b"/Size 8", b"/Size 99999999 /Index [0 99999999]"),
        "",
    ),
    "layer on layer": (
        "a.pdf",
        lambda: one_page(stream(layered(b"BT ET", 5), b"/Filter [/Fl /Fl /Fl /Fl /Fl]")),
        "one layer after another",
    ),
    "nested": ("a.pdf", lambda: _nested(3000), ""),
    "nested a little": ("a.pdf", lambda: _nested(150), "one layer after another"),
    "a picture of a billion": (
        "a.pdf",
        lambda: good(extra=(stream(b"\xff\xd8", b"/Subtype /Image /Width 40000 /Height 40000 /Filter /DCTDecode"),)),
        "more pixels",
    ),
    "too many pages": ("a.pdf", lambda: plain_pdf([["One"]] * 201), "It has 201 pages; at most 200"),
    "too many pieces": ("a.pdf", lambda: good(extra=(b"null",) * 50_001), "more pieces"),
    # Not as a PDF is built
    "no pages": ("a.pdf", lambda: plain_pdf([]), "no pages"),
    "pages in a circle": ("a.pdf", _circle_of_pages, ""),
    "a table elsewhere": ("a.pdf", _wrong_startxref, "damaged"),
    "a table that is wrong": ("a.pdf", _shifted_table, "damaged"),
    "half of it": ("a.pdf", lambda: good()[: len(good()) // 2] + b"\n%%EOF\n", "damaged"),
    "no catalogue": ("a.pdf", lambda: whole([b"null", FONT]), "damaged"),
    "a packing nobody knows": ("a.pdf", lambda: one_page(stream(b"x", b"/Filter /Sideways")), "damaged"),
    "damaged packing": ("a.pdf", lambda: one_page(stream(b"not packed", b"/Filter /FlateDecode")), "damaged"),
}
