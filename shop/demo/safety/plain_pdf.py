"""A PDF of plain lines of text, made by hand: for the invented suppliers' sheets of the demo room and of the tests."""

from collections.abc import Iterable, Sequence

#: Points: A4, and where its first line stands.
_WIDTH, _HEIGHT, _LEFT, _TOP, _LEADING = 595, 842, 56, 780, 15


def plain_pdf(pages: Iterable[Sequence[str]], *, more: bytes = b"", extra: Sequence[bytes] = ()) -> bytes:
    """Pages of lines (Latin-1), 60 a page at most, in Helvetica; lines that begin with "# " are headings.

    more: entries for the catalogue; extra: bodies of further objects, numbered from 5 on, before those of the pages.
    """
    bodies = [b"<< /Type /Catalog /Pages 2 0 R " + more + b" >>", b""]
    bodies += [b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica%s /Encoding /WinAnsiEncoding >>" % bold for bold in
               (b"", b"-Bold")]  # fmt: skip
    bodies += extra
    kids = []
    for lines in pages:
        drawn = _drawn(lines)
        kids.append(len(bodies) + 1)
        bodies.append(
            b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %d %d] /Contents %d 0 R "
            b"/Resources << /Font << /F1 3 0 R /F2 4 0 R >> >> >>" % (_WIDTH, _HEIGHT, len(bodies) + 2)
        )
        bodies.append(b"<< /Length %d >>\nstream\n%s\nendstream" % (len(drawn), drawn))
    bodies[1] = b"<< /Type /Pages /Count %d /Kids [%s] >>" % (len(kids), b" ".join(b"%d 0 R" % kid for kid in kids))
    return whole(bodies)


def whole(bodies: Sequence[bytes], *, trailer: bytes = b"") -> bytes:
    """A file of these objects, numbered from 1, the first of which is the catalogue."""
    made = bytearray(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")
    places = []
    for number, body in enumerate(bodies, 1):
        places.append(len(made))
        made += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start = len(made)
    made += b"xref\n0 %d\n0000000000 65535 f \n" % (len(bodies) + 1)
    made += b"".join(b"%010d 00000 n \n" % place for place in places)
    made += b"trailer\n<< /Size %d /Root 1 0 R %s>>\nstartxref\n%d\n%%%%EOF\n" % (len(bodies) + 1, trailer, start)
    return bytes(made)


def _drawn(lines: Sequence[str]) -> bytes:
    parts = [b"BT %d %d Td %d TL" % (_LEFT, _TOP, _LEADING)]
    for line in lines:
        text = line.removeprefix("# ").encode("latin-1", "replace")
        for sign in (b"\\", b"(", b")"):
            text = text.replace(sign, b"\\" + sign)
        font = b"/F2 12 Tf" if line.startswith("# ") else b"/F1 10 Tf"
        parts.append(b"%s (%s) Tj T*" % (font, text))
    return b"\n".join([*parts, b"ET"])
