"""Text files: how their letters are written, what parts their cells, and their rows one by one."""

import codecs
import csv
import re
from collections.abc import Iterator
from io import StringIO
from itertools import islice
from pathlib import Path

from shop.stock.sheets.columns import Sheet, find
from shop.stock.sheets.faults import Question, Refusal

#: Ways of writing that the file's bytes do not tell apart, as they are called to a person.
ASKED_ENCODINGS = {
    "cp1252": "Western Europe, Windows",
    "mac_roman": "Western Europe, older Macintosh",
    "cp850": "Western Europe, DOS",
    "cp1250": "Central Europe, Windows",
    "cp1251": "Cyrillic, Windows",
}
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright bars"}
_CHUNK = 64 * 1024
#: How far down the headings are looked for, to say where they are.
_HEAD_ROWS = 12

_WORD = re.compile(r"[^\s,;|\"]*[^\x00-\x7f][^\s,;|\"]*")


def encoding_of(file: Path, answer: str = "") -> str:
    """How the file's letters are written. answer: what the person said, if they were asked.

    Question where its bytes fit more than one way; Refusal where they fit none.
    """
    with open(file, "rb") as opened:
        head = opened.read(_CHUNK)
    for mark, name in _MARKS:
        if head.startswith(mark):
            return _if_it_fits(file, name)
    if b"\x00" in head:
        even, odd = head[0::2].count(0), head[1::2].count(0)
        if max(even, odd) < 0.3 * len(head) / 2 or min(even, odd) > 0.1 * len(head) / 2:
            raise Refusal("That is not a text file. Save your list as .csv or .xlsx, and send that.")
        return _if_it_fits(file, "utf-16-le" if odd > even else "utf-16-be")
    if _fits(file, "utf-8"):
        return "utf-8"
    if answer in ASKED_ENCODINGS and _fits(file, answer):
        return answer
    raise Question(
        "encoding",
        "Which of these reads right?",
        "The file does not say how its letters are written, and its special letters can be read in more than one way.",
        _readings(file),
    )


def _if_it_fits(file: Path, encoding: str) -> str:
    if not _fits(file, encoding):
        raise Refusal("The file breaks off, or its letters are damaged. Write it out anew, and send that.")
    return encoding


def _fits(file: Path, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        with open(file, "rb") as opened:
            while chunk := opened.read(_CHUNK):
                decoder.decode(chunk)
            decoder.decode(b"", final=True)
    except UnicodeError:
        return False
    return True


def _readings(file: Path) -> list[tuple[str, str]]:
    """Each way of writing that fits, with words of the file as it would read them; those that read alike once."""
    lines = []
    with open(file, "rb") as opened:
        for line in opened:
            if any(byte > 0x7F for byte in line):
                lines.append(line[:2000])
            if len(lines) == 5:
                break
    choices: list[tuple[str, str]] = []
    seen = set()
    for encoding, called in ASKED_ENCODINGS.items():
        if not _fits(file, encoding):
            continue
        words = [word for line in lines for word in _WORD.findall(line.decode(encoding))]
        said = " · ".join(list(dict.fromkeys(words))[:6])
        if said not in seen:
            seen.add(said)
            choices.append((encoding, f"{said} ({called})"))
    if not choices:
        raise Refusal("Its letters are written in no way that is known here. Save it as “CSV UTF-8”, and send that.")
    return choices


def separator_of(file: Path, encoding: str, sheet: Sheet) -> str:
    """What parts the cells: the sign by which the first rows hold the most headings of the sheet."""
    with open(file, encoding=encoding, newline="") as opened:
        head = opened.read(_CHUNK)
    if said := re.match(r"sep=(.)\r?\n", head):
        return said[1]
    best, most = ",", (0, 0)
    for separator in SEPARATORS:
        rows = _head_rows(head, separator)
        holds = max((len(find(sheet, row)) for row in rows), default=0)
        if (holds, len(rows[0]) if rows else 0) > most and holds:
            best, most = separator, (holds, len(rows[0]))
    return best


def _head_rows(head: str, separator: str) -> list[list[str]]:
    try:
        return list(islice(csv.reader(StringIO(head, newline=""), delimiter=separator), _HEAD_ROWS))
    except csv.Error:
        return []


def rows(file: Path, encoding: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """The rows with their numbers as a spreadsheet would count them. Refusal where one cannot be read."""
    number = 0
    try:
        with open(file, encoding=encoding, newline="") as opened:
            for number, row in enumerate(csv.reader(opened, delimiter=separator, strict=True), start=1):
                if number == 1 and row and row[0].casefold().startswith("sep="):
                    continue
                yield number, row
    except csv.Error as wrong:
        raise Refusal(
            f"Row {number + 1} cannot be read: a quotation mark in it, or in a row before, is never closed, or stands "
            "where none belongs. Put that right, and send the file again."
        ) from wrong
