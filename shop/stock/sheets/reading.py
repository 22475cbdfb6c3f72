"""A file once through: its headings found, its rows set down in one plain form, and how it writes numbers and days.

What is set down is a file of JSON lines: first the headings by the key of their column, then each row that holds
something, as its number and its cells in the order of the keys. Days are ["day", "2025-03-31"]. Checking reads that,
and taking in reads it again, so that a workbook is parsed once only.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from shop.stock.sheets import text, workbook
from shop.stock.sheets.cells import Signs
from shop.stock.sheets.columns import Column, Sheet, find, plain
from shop.stock.sheets.faults import Found, Refusal
from shop.stock.sheets.files import MOST_ROWS, is_workbook
from shop.wording import grouped

#: How far down the headings are looked for where the first row holds none, to say where they are.
_LOOK_DOWN = 12
_EVERY = 1000

#: Told how many rows are done, and of how many if that is known.
Progress = Callable[[int, int | None], None]


@dataclass
class Read:
    """What a file shows, apart from its rows. headings: as it writes them, by column key; orders: of days, likewise.

    notes: what was found about how it is written, in sentences; rows: how many hold something.
    """

    headings: dict[str, str]
    rows: int = 0
    mark: str = "."
    orders: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


def read(
    file: Path, name: str, sheet: Sheet, to: Path, answers: dict[str, str], progress: Progress
) -> tuple[Read, Found]:
    """Read the file that was sent as `name` and set its rows down at `to`.

    answers: to the questions asked before, by name. Raises Refusal and Question. The faults given are of single rows;
    where there are any, nothing further should be done with the rows.
    """
    if is_workbook(file, name):
        with closing(workbook.Workbook(file)) as book:
            book.look_over()
            others = f"; its {book.others} other sheet{'s' if book.others > 1 else ''} not" if book.others else ""
            notes = [f"Read as a workbook: the sheet “{book.title}”{others}."]
            return _set_down(book.rows(), sheet, to, answers, notes, progress)
    encoding = text.encoding_of(file, answers.get("encoding", ""))
    separator = text.separator_of(file, encoding, sheet)
    written = text.ASKED_ENCODINGS.get(encoding, encoding.removesuffix("-sig").upper())
    parted = text.SEPARATORS.get(separator, f"“{separator}”")
    notes = [f"Read as text in {written}, parted by {parted}."]
    return _set_down(text.rows(file, encoding, separator), sheet, to, answers, notes, progress)


def _set_down(
    rows: Iterator[tuple[int, Any]],
    sheet: Sheet,
    to: Path,
    answers: dict[str, str],
    notes: list[str],
    progress: Progress,
) -> tuple[Read, Found]:
    places, headings, notes_of_head, width = _head(rows, sheet)
    found, signs, faults = Read(headings, notes=[*notes, *notes_of_head]), Signs(headings), Found()
    with open(to, "w", encoding="utf-8") as out:
        out.write(json.dumps(headings) + "\n")
        for number, cells in rows:
            if all(value is None or value == "" or (isinstance(value, str) and not value.strip()) for value in cells):
                continue
            found.rows += 1
            if found.rows > MOST_ROWS:
                raise Refusal(
                    f"That file has more than {grouped(MOST_ROWS)} rows. Part it, and send one part after another."
                )
            if beyond := next((value for value in cells[width:] if value not in (None, "")), None):
                faults.add(number, "", beyond, "Something stands beyond the last heading: is a cell parted in two?")
            given = [cells[place] if place < len(cells) else None for place in places]
            for column, value in zip(places.values(), given, strict=True):
                signs.see(number, column, value)
            out.write(json.dumps([number, [_down(value) for value in given]], ensure_ascii=False) + "\n")
            if found.rows % _EVERY == 0:
                progress(found.rows, None)
    if not found.rows:
        raise Refusal("There are headings, but no row under them. Fill it in, and send it again.")
    found.mark, found.orders = signs.mark(answers.get("mark", "")), signs.orders(answers.get("days", ""))
    if signs.marks.get(",") or signs.marks.get("."):
        found.notes.append(f"Numbers have a decimal {'comma' if found.mark == ',' else 'point'}.")
    for key, order in found.orders.items():
        found.notes.append(f"Days under “{headings[key]}” have the {'day' if order == 'dmy' else 'month'} first.")
    return found, faults


def _head(rows: Iterator[tuple[int, Any]], sheet: Sheet) -> tuple[dict[int, Column], dict[str, str], list[str], int]:
    """The columns by their place, the headings of the file by their keys, notes, and how many headings there are.

    Refusal if the first row holds none, or they do not stand right.
    """
    looked: list[tuple[int, Any]] = []
    for number, cells in rows:
        if any(str(value or "").strip() for value in cells):
            looked.append((number, cells))
            break
    if not looked:
        raise Refusal("The file is empty. Fill in the template, or write your list out anew, and send that.")
    number, cells = looked[0]
    places = find(sheet, cells)
    if not places:
        raise Refusal(_no_headings(rows, sheet, number))
    written = [str(value or "").strip() for value in cells]
    filled = max(place for place, text_ in enumerate(written) if text_)
    bare = [letter(place) for place in range(filled) if not written[place]]
    if bare:
        raise Refusal(
            f"There is no heading over column {', '.join(bare)}, where headings stand to the right of it. Give each "
            "column one heading of its own, none over several columns, and send it again."
        )
    keys = [column.key for column in places.values()]
    twice = sorted({written[place] for place, column in places.items() if keys.count(column.key) > 1})
    if twice:
        raise Refusal(f"Two columns mean the same: {_listed(twice)}. Take one out, and send it again.")
    missing = [column.heading for column in sheet.needed if column.key not in keys]
    if missing:
        raise Refusal(
            f"There is no column {_listed(missing)}. The headings found are {_listed(written)}. Put it in, and send "
            "the file again."
        )
    left = [written[place] for place in range(filled + 1) if place not in places]
    notes = [f"Not taken in, for it is not known here: {_listed(left)}."] if left else []
    return places, {column.key: written[place] for place, column in places.items()}, notes, filled + 1


def _no_headings(rows: Iterator[tuple[int, Any]], sheet: Sheet, first: int) -> str:
    """The sentence for a first row that doesn't hold the headings; says where they are if they are further down."""
    for _ in range(_LOOK_DOWN):
        number, cells = next(rows, (0, None))
        if cells is None:
            break
        if len(find(sheet, cells)) >= len(sheet.needed):
            return (
                f"The headings are in row {number}, and something else stands above them. Take the rows above out, so "
                "that the headings come first, and send the file again."
            )
    needed = _listed([column.heading for column in sheet.needed])
    return (
        f"Row {first} does not hold the headings of a list of {sheet.kind.label.lower()}: at least {needed} must be "
        "there, each over its column. Take the template, or write these into the first row, and send it again."
    )


def letter(place: int) -> str:
    """The name a spreadsheet gives a column, from its place counted from 0."""
    name = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        name = chr(65 + rest) + name
    return name


def _listed(names: list[str]) -> str:
    return ", ".join(f"“{name}”" for name in names if plain(name) or name)


def _down(value: object) -> object:
    if isinstance(value, datetime):
        return ["moment", value.isoformat()]
    return ["day", value.isoformat()] if isinstance(value, date) else value


def _up(value: Any) -> object:
    if not isinstance(value, list):
        return value
    return date.fromisoformat(value[1]) if value[0] == "day" else datetime.fromisoformat(value[1])


def set_down_rows(file: Path) -> Iterator[tuple[int, dict[str, object]]]:
    """The rows that `read` set down: the number of each, and its cells by the key of their column."""
    with open(file, encoding="utf-8") as lines:
        keys = list(json.loads(next(lines)))
        for line in lines:
            number, cells = json.loads(line)
            yield number, {key: _up(value) for key, value in zip(keys, cells, strict=True)}
