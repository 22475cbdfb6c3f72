"""The first look at a file that was sent: its name and its plain bytes. Nothing is parsed yet."""

import os
import re
import unicodedata

from shop.press.plain import visible

#: The largest file that is taken, in bytes; a sheet of a hundred pages with pictures has some five million.
MOST_BYTES = 15 * 1024 * 1024

_AGAIN = "Ask the supplier for a plain PDF, or open it and print it to a PDF anew."


class NotTaken(ValueError):
    """A file is not taken; its text is the sentence that says why."""


#: What the beginning of a file says it is.
_KINDS = (
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"RIFF", "a WebP picture or a recording"),
    (b"II*\x00", "a TIFF picture"),
    (b"MM\x00*", "a TIFF picture"),
    (b"PK", "a ZIP archive, or a document of the kind that is one (.docx, .xlsx)"),
    (b"\xd0\xcf\x11\xe0", "an old office document (.doc, .xls)"),
    (b"{\\rtf", "a text document (.rtf)"),
    (b"MZ", "a program"),
    (b"\x7fELF", "a program"),
    (b"#!", "a program"),
    (b"\x1f\x8b", "an archive"),
    (b"Rar!", "an archive"),
    (b"7z\xbc\xaf", "an archive"),
    (b"%!PS", "a PostScript file"),
)
_MARKUP = re.compile(rb"\s*<(?:\?xml|!doctype|html|svg|head|body|script|!--)", re.IGNORECASE)
_BEGINS = re.compile(rb"%PDF-[12]\.[0-9]")
#: Endings that a name must not have before its own: what they say of a file is not what .pdf says.
_OTHER_ENDINGS = frozenset(
    [
        *("exe", "com", "bat", "cmd", "scr", "msi", "lnk", "js", "jse", "mjs", "vbs", "vbe", "ps1", "sh", "py", "php"),
        *("jar", "hta", "wsf", "dll", "apk", "app", "iso", "img", "html", "htm", "xhtml", "mht", "svg", "xml", "png"),
        *("jpg", "jpeg", "gif", "webp", "tif", "tiff", "zip", "rar", "7z", "gz", "doc", "docx", "docm", "xls", "xlsx"),
        *("xlsm", "ppt", "pptx", "rtf", "txt", "eml", "msg"),
    ]
)

#: What may be hidden in a PDF's plain bytes, and what it is. Names of PDF may spell any letter as #xx.
_HASHED = re.compile(rb"#([0-9A-Fa-f]{2})")
_SCRIPT = re.compile(rb"/JavaScript(?![A-Za-z])")
_LAUNCH = re.compile(rb"/Launch(?![A-Za-z])")
_EMBEDDED = re.compile(rb"/EmbeddedFiles?(?![A-Za-z])")
_MEDIA = re.compile(rb"/RichMedia")
_WEB_PAGE = re.compile(rb"<(?:!doctype\s+html|html|script|svg|iframe|body)[\s>]", re.IGNORECASE)

#: Said here of plain bytes, and in looking.py of what the reader found.
SAID = {
    "script": f"It holds a script, and none is taken. {_AGAIN}",
    "opens": f"It does something by itself when it is opened, and that is not taken. {_AGAIN}",
    "launch": f"It would start another program or file, and that is not taken. {_AGAIN}",
    "sends": f"It would send what is filled in to somebody, and that is not taken. {_AGAIN}",
    "embedded": f"Another file is embedded in it, and that is not taken. {_AGAIN}",
    "xfa": f"It is a form of the kind that programs fill in (XFA), and that is not taken. {_AGAIN}",
    "media": f"It holds film, sound or moving pictures, and those are not taken. {_AGAIN}",
    "encrypted": (
        "It is locked (encrypted). Ask the supplier for one that is not, or open it and print it to a PDF anew."
    ),
    "broken": f"It is damaged, or not built as a PDF is, so that programs may each read it otherwise. {_AGAIN}",
    "bomb": f"Unpacked, it is far larger than a safety data sheet can be, so it was not opened. {_AGAIN}",
    "layers": f"Something in it is packed in one layer after another, as no sheet is. {_AGAIN}",
    "picture": f"A picture in it has far more pixels than a sheet needs. {_AGAIN}",
    "objects": f"It is made of far more pieces than a safety data sheet is. {_AGAIN}",
    "empty": "It has no pages.",
    "time": f"Looking through it takes too long, so it was left. {_AGAIN}",
}


def looked_at(name: str, content: bytes) -> str:
    """What a file is called, once its name and plain bytes are those of one PDF and nothing else. NotTaken if not."""
    called = _name(name)
    if not content:
        raise NotTaken("That file is empty. Choose another.")
    if len(content) > MOST_BYTES:
        raise NotTaken(f"That file is larger than {MOST_BYTES // (1024 * 1024)} MB, the most that is taken.")
    _beginning(content)
    _end(content)
    _second_kind(content)
    _hidden(content)
    return called


def _name(name: str) -> str:
    base = os.path.basename(unicodedata.normalize("NFC", name).replace("\\", "/")).strip()
    if visible(base) != base:
        raise NotTaken("Its name holds signs that cannot be seen. Give the file a plain name, and send it again.")
    stem, ending = os.path.splitext(base)
    if ending.casefold() != ".pdf" or not stem.strip(" ."):
        raise NotTaken("Only PDF files are taken, with a name that ends in .pdf.")
    before = os.path.splitext(stem)[1].casefold().lstrip(".").strip()
    if before in _OTHER_ENDINGS:
        raise NotTaken(f"Its name has two endings, .{before} and .pdf. Send the PDF itself, with one.")
    return base[-120:]


def _beginning(content: bytes) -> None:
    if _BEGINS.match(content):
        return
    if _BEGINS.search(content[:2048]):
        raise NotTaken(f"Something stands before its beginning, so that it may be two files in one. {_AGAIN}")
    for begins, what in _KINDS:
        if content.startswith(begins):
            raise NotTaken(f"That is {what}, not a PDF, whatever its name says. Send the sheet as a PDF.")
    if _MARKUP.match(content.removeprefix(b"\xef\xbb\xbf")):
        raise NotTaken("That is a web page or a drawing (HTML, SVG, XML), not a PDF. Send the sheet as a PDF.")
    raise NotTaken("That is not a PDF, whatever its name says. Send the sheet as a PDF.")


def _end(content: bytes) -> None:
    """Nothing but blanks after the last end; one end at least."""
    _, mark, rest = content.rpartition(b"%%EOF")
    if not mark:
        raise NotTaken(f"Its end is missing: it may have come only in part. Send it again. {_AGAIN}")
    if rest.strip(b"\r\n\t \x00"):
        raise NotTaken(f"Something stands after its end, so that it may be two files in one. {_AGAIN}")


def _second_kind(content: bytes) -> None:
    """Other formats are told by signs that need not stand at the beginning."""
    if content[257:262] == b"ustar" or content[32769:32774] == b"CD001" or content[128:132] == b"DICM":
        raise NotTaken(f"It is another kind of file as well as a PDF. {_AGAIN}")
    if b"Rar!\x1a\x07" in content or b"7z\xbc\xaf\x27\x1c" in content or _holds_zip(content):
        raise NotTaken(f"It is an archive as well as a PDF. {_AGAIN}")
    if b"__HALT_COMPILER" in content or b"<?php" in content:
        raise NotTaken(f"It is a program as well as a PDF. {_AGAIN}")
    if _WEB_PAGE.search(content):
        raise NotTaken(f"It is a web page as well as a PDF. {_AGAIN}")
    first_end = content.find(b"%%EOF")
    if re.search(rb"%PDF-[12]\.[0-9]", content[8:]):
        where = "after its end" if content.find(b"%PDF-", first_end) > 0 else "in it"
        raise NotTaken(f"A second PDF stands {where}. Send one sheet at a time. {_AGAIN}")


def _holds_zip(content: bytes) -> bool:
    """Whether an archive's list of contents stands where its end says it does."""
    at = content.find(b"PK\x05\x06")
    while at >= 0:
        size = int.from_bytes(content[at + 12 : at + 16], "little")
        if 0 < size <= at and content[at - size : at - size + 4] == b"PK\x01\x02":
            return True
        at = content.find(b"PK\x05\x06", at + 4)
    return False


def _hidden(content: bytes) -> None:
    """What must not be in it, even where no list of its objects leads there: older states, and what was left out."""
    plain = _HASHED.sub(lambda found: bytes([int(found[1], 16)]), content)
    for sign, why in ((_SCRIPT, "script"), (_LAUNCH, "launch"), (_EMBEDDED, "embedded"), (_MEDIA, "media")):
        if sign.search(plain):
            raise NotTaken(SAID[why])
