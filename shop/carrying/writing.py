"""Lists as CSV and XLSX files, batch by batch, with cells that no spreadsheet program takes for a formula."""

import csv
import re
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import IO, Any

from django.utils import timezone

#: What a spreadsheet program may take for the beginning of a formula, in wide letters too.
_BEGINS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_PLAIN_NUMBER = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")
#: What XLSX cannot hold.
_NOT_IN_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")

Rows = Iterable[Sequence[object]]


def harmless(text: str) -> str:
    """`text` with an apostrophe before it if a spreadsheet program might work it out; a plain number stays one."""
    if text.startswith(_BEGINS_FORMULA) and not _PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def _cell(value: object) -> object:
    """What goes into a file for a value: texts harmless, numbers as numbers, moments on the room's clock."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return Decimal(f"{value.normalize():f}")
    if isinstance(value, datetime):
        return timezone.localtime(value).replace(tzinfo=None, microsecond=0)
    if isinstance(value, (int, float, date)):
        return value
    return harmless(_NOT_IN_XML.sub("", str(value)))


def csv_parts(headings: Sequence[str], batches: Iterable[Rows], zone: Any) -> Iterator[bytes]:
    """A CSV file in parts: UTF-8 with its mark (or spreadsheet programs misread it), commas, texts in quotes.

    zone: the room's; the parts are made while they are sent, when the page's own is no longer in force.
    """
    import tablib

    head = tablib.Dataset(tuple(headings)).export("csv", quoting=csv.QUOTE_NONNUMERIC)
    yield b"\xef\xbb\xbf" + head.encode()
    parts = iter(batches)
    while True:
        with timezone.override(zone):
            rows = next(parts, None)
            if rows is None:
                return
            made = [tuple(_in_csv(_cell(value)) for value in row) for row in rows]
        yield tablib.Dataset(*made).export("csv", quoting=csv.QUOTE_NONNUMERIC).encode()


def _in_csv(value: object) -> object:
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    return value.isoformat() if isinstance(value, date) else value


def workbook(title: str, headings: Sequence[str], batches: Iterable[Rows]) -> IO[bytes]:
    """An XLSX file, open at its start; it goes when it is closed. Written row by row, past tablib, which holds all."""
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet(title)
    sheet.freeze_panes = "A2"
    for place, heading in enumerate(headings, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = max(12, len(heading) + 2)
    head = []
    for heading in headings:
        cell = WriteOnlyCell(sheet, value=heading)
        cell.font = Font(bold=True)
        head.append(cell)
    sheet.append(head)
    for rows in batches:
        for row in rows:
            sheet.append([_cell(value) for value in row])
    file = tempfile.TemporaryFile()  # noqa: SIM115 (closed by who sends it)
    try:
        book.save(file)
        file.seek(0)
    except BaseException:
        file.close()
        raise
    return file
