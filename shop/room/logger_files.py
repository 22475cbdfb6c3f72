"""Files that loggers write: a table of moments and values, whose columns a person chooses.

The file lies in the data folder while it is looked at, under a random name that the page holds signed; it is swept away
with the other files that were sent.
"""

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from io import StringIO
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

from django.core import signing

from shop.refusal import Refused
from shop.room.models import ReadingKind
from shop.room.sent import Sent, Wrong
from shop.stock.sheets.files import SentFile, path
from shop.wording import grouped

#: The largest file, and the most rows: half a year of five minutes. Our own figures.
MOST_BYTES = 5 * 1024 * 1024
MOST_ROWS = 50_000
_SALT = "shop.room.logger_files"
_SEPARATORS = (",", ";", "\t")
#: So far down the headings are looked for: loggers tell of themselves first.
_LOOK_DOWN = 60
_MOMENT = re.compile(
    r"(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})[T ,]+(\d{1,2}):(\d\d)(?::(\d\d)(?:[.,]\d+)?)? ?"
    r"(?P<half>[AaPp]\.?[Mm]\.?)?(?P<offset>Z|[+-]\d\d:?\d\d)?",
    re.ASCII,
)
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?", re.ASCII)


class Skipped(Exception):
    """A time of day that there was not, for the clocks went forward."""


@dataclass(frozen=True)
class Table:
    """headings: of the columns; rows: each with the number of its line; comma: whether it is the decimal mark."""

    headings: list[str]
    rows: list[tuple[int, list[str]]]
    comma: bool


@dataclass(frozen=True)
class Chosen:
    """What a person said of the columns. at: of the moment; clock: of the time of day where that stands by itself, else
    None; order: "year", "day" or "month", whichever comes first in a date; zone: of moments that name no offset; kinds:
    column and unit of each kind that is in the file."""

    at: int
    clock: int | None
    order: str
    zone: str
    kinds: Mapping[ReadingKind, tuple[int, str]]


# The file while it is looked at ---------------------------------------------------------------------------------------


def keep(sent: SentFile) -> str:
    """Put the file down; the ticket by which the page names it."""
    return signing.dumps(sent.keep(), salt=_SALT)


def kept(ticket: str) -> Path:
    """The file of a ticket. Refused where it is none of ours, or the file is gone by now."""
    try:
        found = path(signing.loads(ticket, salt=_SALT))
    except signing.BadSignature as wrong:
        raise Refused("The file did not come along. Choose it again.") from wrong
    if not found.exists():
        raise Refused("The file has been cleared away since. Choose it again.")
    return found


def read_table(file: Path) -> Table:
    """The table in a file. Refused where it holds none."""
    text = _text(file.read_bytes())
    separator, rows = max(
        ((one, _rows(text, one)) for one in _SEPARATORS), key=lambda found: (_width(found[1]) > 1, _agree(found[1]))
    )
    width = _width(rows)
    if width < 2:
        raise Refused("There is no table in it: one column of moments and one of values at least, as CSV.")
    first = next(place for place, (_, cells) in enumerate(rows) if len(cells) == width)
    headings = [cell.strip() or f"Column {n}" for n, cell in enumerate(rows[first][1], 1)]
    body = [row for row in rows[first + 1 :] if len(row[1]) == width]
    if not body:
        raise Refused("It holds headings and no rows.")
    if len(body) > MOST_ROWS:
        raise Refused(f"It holds {grouped(len(body))} rows; {grouped(MOST_ROWS)} are taken at once. Send it in parts.")
    return Table(headings, body, comma=separator != "," and any("," in cell for _, row in body[:50] for cell in row))


def _text(raw: bytes) -> str:
    if raw[:4] == b"PK\x03\x04" or raw[:4] == b"\xd0\xcf\x11\xe0":
        raise Refused("That is a workbook. Have it written as CSV, and send that.")
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    if b"\0" in raw:
        raise Refused("That is no text file. Have the logger's program write it as CSV.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:  # what older programs write; only the degree sign in a heading hangs on it
        return raw.decode("cp1252", errors="replace")


def _rows(text: str, separator: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(StringIO(text, newline=""), delimiter=separator)
    try:
        return [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error:
        return []


def _width(rows: list[tuple[int, list[str]]]) -> int:
    """How many cells most rows have."""
    widths = [len(row) for _, row in rows[:_LOOK_DOWN]]
    return max(set(widths), key=lambda one: (widths.count(one), one)) if widths else 0


def _agree(rows: list[tuple[int, list[str]]]) -> tuple[int, int]:
    """How many of the first rows have that many cells, and how many that is."""
    width = _width(rows)
    return sum(len(row) == width for _, row in rows[:_LOOK_DOWN]), width


# Its readings ---------------------------------------------------------------------------------------------------------


def readings_of(table: Table, chosen: Chosen) -> tuple[list[Sent | Wrong], list[int]]:
    """The readings of a table, in its order, and the line that each stands in. An empty cell is no reading."""
    zone = UTC if chosen.zone == "UTC" else ZoneInfo(chosen.zone)
    sent: list[Sent | Wrong] = []
    lines: list[int] = []
    before: datetime | None = None
    for line, row in table.rows:
        written = row[chosen.at] if chosen.clock is None else f"{row[chosen.at].strip()} {row[chosen.clock].strip()}"
        why = f"“{written.strip()[:40]}” is no moment, written like that."
        try:
            at = moment(written.strip(), chosen.order, zone, before)
        except Skipped:
            at, why = (
                None,
                f"“{written.strip()[:40]}” was never shown by a clock in {chosen.zone}: they went forward then.",
            )
        before = at or before
        for kind, (column, unit) in chosen.kinds.items():
            cell = row[column].strip().replace("\u2212", "-")
            if not cell:
                continue
            lines.append(line)
            if at is None:
                sent.append(Wrong("time", why, kind))
            elif not _NUMBER.fullmatch(cell) or ("," in cell and not table.comma):
                sent.append(Wrong("value", f"“{cell[:40]}” is no number.", kind, at))
            else:
                sent.append(Sent(kind, at, float(cell.replace(",", ".")), unit))
    return sent, lines


def moment(text: str, order: str, zone: ZoneInfo | object, before: datetime | None = None) -> datetime | None:
    """A moment as loggers write it, in UTC; None for anything else.

    before: of the row before. In the hour that comes twice when the clocks go back the first is meant, unless that
    would lie before the row before. Raises Skipped in the hour that is left out when they go forward.
    """
    found = _MOMENT.fullmatch(text)
    if found is None:
        return None
    one, two, three, hour, minute = (int(part) for part in found.groups()[:5])
    second = int(found[6] or 0)
    if len(found[1]) == 4:
        year, month, day = one, two, three
    elif order == "year" or len(found[3]) not in (2, 4):
        return None
    else:
        day, month = (one, two) if order == "day" else (two, one)
        year = three if len(found[3]) == 4 else 2000 + three
    if half := found["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half[0] in "pP" else 0)
    try:
        if found["offset"]:
            offset = found["offset"].replace("Z", "+00:00")
            return datetime.fromisoformat(
                f"{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}{offset}"
            ).astimezone(UTC)
        local = datetime(year, month, day, hour, minute, second, tzinfo=zone)  # type: ignore[arg-type]
        at, again = local.astimezone(UTC), local.replace(fold=1).astimezone(UTC)
        if at.astimezone(local.tzinfo).replace(tzinfo=None) != local.replace(tzinfo=None):
            raise Skipped
    except (ValueError, OverflowError):
        return None
    return again if before is not None and at < before <= again else at


def order_shown(table: Table, column: int) -> str:
    """Which of "year", "day" and "month" comes first in this column, if its rows show it; else ""."""
    firsts = []
    for _, row in table.rows[:2000]:
        if parts := re.match(r"\s*(\d{1,4})[./-](\d{1,2})[./-]", row[column]):
            if len(parts[1]) == 4:
                return "year"
            firsts.append((int(parts[1]), int(parts[2])))
    if any(first > 12 for first, _ in firsts):
        return "day"
    if any(second > 12 for _, second in firsts):
        return "month"
    # the part that stays while the other goes on is the month
    changes = [(a[0] != b[0], a[1] != b[1]) for a, b in pairwise(firsts)]
    first, second = sum(one for one, _ in changes), sum(two for _, two in changes)
    return "day" if first > second else "month" if second > first else ""
