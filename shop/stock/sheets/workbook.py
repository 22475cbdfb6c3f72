"""XLSX workbooks: the rows of the first sheet, one by one, as values; nothing in one is ever worked out or run."""

import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from shop.stock.sheets.faults import Refusal

#: Columns beyond this are not looked at.
_MOST_COLUMNS = 200
_CHUNK = 1024 * 1024
_MERGED = re.compile(rb'<mergeCell ref="([A-Z0-9:]+)"')
#: A formula whose result the workbook does not hold: only a program that reckons could tell it.
_NEVER_RECKONED = re.compile(rb'<c r="([A-Z]+[0-9]+)"[^>]*><f[^>]*?(?:/>|>[^<]*</f>)(?:<v\s*/>|<v></v>)?</c>')
_BROKEN = "The workbook is damaged and cannot be read. Save it anew, and send that."


class Workbook:
    """The first sheet of a workbook. title: its name; others: how many more there are. Close it."""

    def __init__(self, file: Path) -> None:
        import openpyxl

        self._opened = open(file, "rb")  # noqa: SIM115 (until `close`; by its name openpyxl would judge it)
        try:
            # loads the table of texts, whose size files.py has bounded; the sheet itself is read row by row
            self._book = openpyxl.load_workbook(self._opened, read_only=True, data_only=True, keep_links=False)
            shown = [sheet for sheet in self._book.worksheets if sheet.sheet_state == "visible"]
        except Exception as broken:  # openpyxl raises what its parsers do
            self._opened.close()
            raise Refusal(_BROKEN) from broken
        if not shown:
            self.close()
            raise Refusal("The workbook has no sheet with rows. Save your list as .xlsx or .csv, and send that.")
        self._sheet: Any = shown[0]
        self.title, self.others = str(self._sheet.title), len(shown) - 1
        self._file = file

    def close(self) -> None:
        self._book.close()
        self._opened.close()

    def look_over(self) -> None:
        """Refuse what a sheet read row by row would not show: merged cells, and formulas never worked out."""
        merged, open_formulas = self._scan()
        if merged:
            raise Refusal(
                f"Cells are merged in that sheet: {_named(merged)}. A merged cell belongs to no one row and column. "
                "Unmerge them, write a value into each cell, and one heading over each column; then send it again."
            )
        if open_formulas:
            raise Refusal(
                f"Formulas in that sheet were never worked out: {_named(open_formulas)}. Open the workbook in your "
                "spreadsheet program, save it, and send that; or put the values in their place."
            )

    def _scan(self) -> tuple[list[str], list[str]]:
        merged: list[str] = []
        formulas: list[str] = []
        part = str(self._sheet._worksheet_path)
        try:
            with zipfile.ZipFile(self._file) as archive, archive.open(part) as opened:
                tail = b""
                while chunk := opened.read(_CHUNK):
                    text = tail + chunk
                    merged += [found.decode() for found in _MERGED.findall(text)]
                    formulas += [found.decode() for found in _NEVER_RECKONED.findall(text)]
                    cut = max(text.rfind(b"<c "), text.rfind(b"<mergeCell "), len(text) - 4096)
                    tail = text[cut:]
        except Exception as broken:  # a damaged archive raises whatever its unpackers do
            raise Refusal(_BROKEN) from broken
        return list(dict.fromkeys(merged)), list(dict.fromkeys(formulas))

    def rows(self) -> Iterator[tuple[int, list[object]]]:
        """The rows with their numbers: texts, numbers, truths and days. Refusal where the file breaks off."""
        try:
            self._sheet.reset_dimensions()  # what a file says of its own extent is not always so
            for number, row in enumerate(self._sheet.iter_rows(max_col=_MOST_COLUMNS, values_only=True), start=1):
                last = max((place for place, value in enumerate(row) if value is not None), default=-1)
                yield number, [_plain(value) for value in row[: last + 1]]
        except Refusal:
            raise
        except Exception as broken:  # openpyxl raises what its parsers do
            raise Refusal(_BROKEN) from broken


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.date() if value.time() == time() else value
    if value is None or isinstance(value, (str, int, float, bool, date)):
        return value
    return str(value)


def _named(cells: list[str]) -> str:
    more = len(cells) - 5
    return ", ".join(cells[:5]) + (f" and {more} more" if more > 0 else "")
