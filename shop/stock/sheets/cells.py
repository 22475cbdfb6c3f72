"""What stands in a cell: words, a number, a day, yes or no. Numbers and days are read by what the whole file shows.

"1,234" may be a thousand and more or one and a bit, "03/04/2025" April or March. A first pass over the file (`Signs`)
gathers what tells: "12,5" shows a decimal comma, "25/03/2025" the day before the month. What nothing tells is asked.
"""

import math
import re
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from shop.calc import units
from shop.stock.amounts import MOST
from shop.stock.sheets.columns import Column, Holds
from shop.stock.sheets.faults import Question, Refusal
from shop.wording import grouped, in_full

#: How many rows are named where they contradict each other.
_NAMED = 5
_SPACES = re.compile(r"[\s\u00a0\u2007\u2009\u202f]+")
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_MONTH = r"(?P<word>[a-z]{3,9})\.?"

_YEAR_FIRST = re.compile(r"(?P<y>\d{4})([-/.])(?P<m>\d{1,2})\2(?P<d>\d{1,2})")
_WEEK = re.compile(r"(?P<y>\d{4})-?w(?P<w>\d{2})", re.IGNORECASE)
_SLASHED = re.compile(r"(?P<a>\d{1,2})([-/])(?P<b>\d{1,2})\2(?P<y>\d{4})")
_DOTTED = re.compile(r"(?P<d>\d{1,2})\. ?(?P<m>\d{1,2})\. ?(?P<y>\d{4})")
_WORDED = re.compile(rf"(?P<d>\d{{1,2}})[. -]*{_MONTH}[ ,-]*(?P<y>\d{{4}})", re.IGNORECASE)
_WORD_FIRST = re.compile(rf"{_MONTH} ?(?P<d>\d{{1,2}}),? (?P<y>\d{{4}})", re.IGNORECASE)
_SHORT_YEAR = re.compile(r"\d{1,2}([-/.])\d{1,2}\1\d{2}")
_MIDNIGHT = re.compile(r"[T ]0?0:00(:00(\.0+)?)?Z?$")

_DIGITS = re.compile(r"(?P<sign>[-+\u2212]?) ?(?P<digits>[0-9][0-9.,' ]*|[.,][0-9]+) ?(?P<unit>[^0-9.,' ].*)?")


class Unfit(ValueError):
    """The cell holds something else than its column; the message says what is wanted."""


def words(value: object) -> str:
    """What stands there, on one line. A number that a spreadsheet made of a code is written as it was typed."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = " ".join(str(value).split())
    if "\ufffd" in text:
        raise Unfit("A letter in it was lost when the file was written. Put it right there.")
    if text in ("#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!"):
        raise Unfit("That is a fault of the spreadsheet's own. Put it right there.")
    if len(text) > 1 and text[0] == "'" and text[1] in "=+-@":
        return text[1:]  # as our own files write what begins like a formula
    return text


# Days -----------------------------------------------------------------------------------------------------------------


def day(value: object, order: str) -> date | None:
    """A day, None for nothing. order: "dmy" or "mdy" for days written with slashes or hyphens, "" if there are none."""
    if isinstance(value, datetime):
        raise Unfit("Give the day alone, without an hour.")
    if isinstance(value, date):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        raise Unfit("That is a number to the spreadsheet, not a day. Give the column a date format.")
    text = _MIDNIGHT.sub("", words(value)).strip()
    if not text:
        return None
    try:
        return _day_of(text, order)
    except ValueError as wrong:
        if isinstance(wrong, Unfit):
            raise
        raise Unfit("There is no such day. Write it as 2025-03-31.") from wrong


def _day_of(text: str, order: str) -> date:
    if found := _YEAR_FIRST.fullmatch(text) or _DOTTED.fullmatch(text):
        return date(int(found["y"]), int(found["m"]), int(found["d"]))
    if found := _WEEK.fullmatch(text):
        return date.fromisocalendar(int(found["y"]), int(found["w"]), 1)
    if found := _SLASHED.fullmatch(text):
        first, second = int(found["a"]), int(found["b"])
        if order == "mdy":
            first, second = second, first
        return date(int(found["y"]), second, first)
    if found := _WORDED.fullmatch(text) or _WORD_FIRST.fullmatch(text):
        months = [n for n, name in enumerate(_MONTHS, start=1) if name.startswith(found["word"].casefold())]
        if months:
            return date(int(found["y"]), months[0], int(found["d"]))
    if _SHORT_YEAR.fullmatch(text):
        raise Unfit("Write the year with four digits, as in 2025-03-31.")
    raise Unfit("That is not a day. Write it as 2025-03-31.")


# Numbers --------------------------------------------------------------------------------------------------------------


def number(value: object, mark: str) -> tuple[Decimal, str] | None:
    """A number and the unit written after it; None for nothing. mark: the file's decimal mark, "." or ","."""
    if isinstance(value, (bool, date)) or (isinstance(value, float) and not math.isfinite(value)):
        raise Unfit("Give a number.")
    if isinstance(value, (int, float)):
        return Decimal(str(value)), ""
    text = words(value)
    if not text:
        return None
    found = _DIGITS.fullmatch(_SPACES.sub(" ", text))
    if found is None:
        raise Unfit("Give a plain number.")
    other = "," if mark == "." else "."
    whole, _, part = found["digits"].strip().partition(mark)
    groups = re.split(r"[ '" + re.escape(other) + "]", whole)
    if not all(group.isdigit() for group in groups if group or len(groups) > 1):
        raise Unfit("Give a plain number.")
    if len(groups) > 1 and not (1 <= len(groups[0]) <= 3 and all(len(group) == 3 for group in groups[1:])):
        raise Unfit(f"Give a plain number, with a decimal {'comma' if mark == ',' else 'point'} if it needs one.")
    if part and not part.isdigit():
        raise Unfit("Give a plain number.")
    sign = "-" if found["sign"] in ("-", "\u2212") else ""
    return Decimal(f"{sign}{''.join(groups) or '0'}.{part or '0'}"), (found["unit"] or "").strip()


def whole(value: object, mark: str, *, low: int, kind: str = "") -> int | None:
    """A whole number from `low` on, None for nothing. kind: of shop.calc.units, where a unit may stand after it."""
    given = number(value, mark)
    if given is None:
        return None
    amount, unit = given
    if unit:
        amount = _in_stored_unit(amount, unit, kind)
    if amount != amount.to_integral_value():
        raise Unfit("Give a whole number.")
    if amount < low:
        raise Unfit("Give a number above zero." if low == 1 else f"Give {grouped(low)} or more.")
    if amount > MOST:
        raise Unfit(f"That is more than {grouped(MOST)}: look at the number and its unit again.")
    return int(amount)


def plain_number(value: object, mark: str) -> Decimal | None:
    """A number without a unit; None for nothing."""
    given = number(value, mark)
    if given is None:
        return None
    if given[1]:
        raise Unfit("Give a plain number, no unit.")
    return given[0]


def _in_stored_unit(amount: Decimal, unit: str, kind: str) -> Decimal:
    if not kind:
        raise Unfit("It is counted by the piece: give a plain number, no unit.")
    try:
        return Decimal(str(round(units.to_stored(kind, float(amount), unit), 6)))
    except ValueError as wrong:
        raise Unfit(str(wrong)) from wrong


_YES, _NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0"}


def yes(value: object, *, empty: bool) -> bool:
    """Yes or no; `empty` for nothing."""
    said = words(value).casefold()
    if not said:
        return empty
    if said not in _YES | _NO:
        raise Unfit("Write yes or no.")
    return said in _YES


# What the whole file shows --------------------------------------------------------------------------------------------


@dataclass
class Signs:
    """What the cells read so far show of how numbers and days are written; rows are kept as far as they are named.

    days: by column key, for "dmy", "mdy" and "either", the rows that show it; marks: likewise for "," and ".".
    headings: of the file, by column key.
    """

    headings: dict[str, str]
    days: dict[str, dict[str, list[tuple[int, str]]]] = field(default_factory=dict)
    marks: dict[str, list[tuple[int, str]]] = field(default_factory=dict)

    def see(self, row: int, column: Column, value: object) -> None:
        if not isinstance(value, str) or column.holds is Holds.WORDS:
            return
        if column.holds is Holds.DAY:
            shows = _order_shown(_MIDNIGHT.sub("", value.strip()))
            _note(self.days.setdefault(column.key, {}), shows, row, value)
        else:
            _note(self.marks, _mark_shown(value), row, value)

    def orders(self, answer: str = "") -> dict[str, str]:
        """The order of the days in each column, by its key. Refusal for two in one; Question for neither."""
        found = {}
        for key, shown in self.days.items():
            heading = self.headings[key]
            day_first, month_first = shown.get("dmy", []), shown.get("mdy", [])
            if day_first and month_first:
                raise Refusal(
                    f"Under “{heading}” the days are written in two orders: {_rows(day_first)} with the day first, "
                    f"{_rows(month_first)} with the month first. Which of the others mean what cannot be told. Write "
                    "them all as 2025-03-31, and send the file again."
                )
            if day_first or month_first:
                found[key] = "dmy" if day_first else "mdy"
            elif unclear := shown.get("either", []):
                if answer not in ("dmy", "mdy"):
                    raise _ask_order(heading, unclear)
                found[key] = answer
        return found

    def mark(self, answer: str = "") -> str:
        """The file's decimal mark, "." if nothing asks for one. Refusal for two; Question where it cannot be told."""
        commas, points = self.marks.get(",", []), self.marks.get(".", [])
        if commas and points:
            raise Refusal(
                f"Numbers are written with two decimal marks: a comma in {_rows(commas)}, a point in {_rows(points)}. "
                "Write them all with one, and send the file again."
            )
        if commas or points:
            return "," if commas else "."
        unclear = self.marks.get("either", [])
        if unclear and answer not in (",", "."):
            raise _ask_mark(unclear)
        return answer if unclear else "."


def _note(shown: dict[str, list[tuple[int, str]]], what: str, row: int, value: str) -> None:
    if what and len(shown.setdefault(what, [])) <= _NAMED:
        shown[what].append((row, value.strip()))


def _order_shown(text: str) -> str:
    found = _SLASHED.fullmatch(text)
    if found is None or found["a"] == found["b"]:
        return ""
    first, second = int(found["a"]), int(found["b"])
    if first > 12 >= second:
        return "dmy"
    if second > 12 >= first:
        return "mdy"
    return "either" if min(first, second) >= 1 and first <= 12 and int(found["y"]) else ""  # else it is no day at all


def _mark_shown(text: str) -> str:
    """Which decimal mark a number shows: ",", ".", "either", or "" for none."""
    found = _DIGITS.fullmatch(_SPACES.sub(" ", text.strip()))
    digits = found["digits"].strip() if found else ""
    commas, points = digits.count(","), digits.count(".")
    if commas and points:
        return "," if digits.rfind(",") > digits.rfind(".") else "."
    if not commas and not points:
        return ""
    mark = "," if commas else "."
    if commas + points > 1:
        return "." if mark == "," else ","  # a mark that comes twice parts groups
    before, _, after = digits.partition(mark)
    if len(after) == 3 and 1 <= len(before) <= 3 and not before.startswith("0"):
        return "either"
    return mark


def _rows(named: list[tuple[int, str]]) -> str:
    numbers = list(dict.fromkeys(str(row) for row, _ in named[:_NAMED]))
    more = " and more" if len(named) > _NAMED else ""
    word = "row" if len(numbers) == 1 and not more else "rows"
    return f"{word} {', '.join(numbers)}{more} (“{named[0][1]}”)"


def _ask_order(heading: str, unclear: list[tuple[int, str]]) -> Question:
    row, text = unclear[0]
    read = {order: _day_of(text, order) for order in ("dmy", "mdy")}
    said = {order: in_full(day) for order, day in read.items()}
    return Question(
        "days",
        f"What day is “{text}”?",
        f"Row {row}, under “{heading}”: nothing in that column tells whether the day or the month comes first.",
        [("dmy", f"{said['dmy']}: the day first"), ("mdy", f"{said['mdy']}: the month first")],
    )


def _ask_mark(unclear: list[tuple[int, str]]) -> Question:
    row, text = unclear[0]
    found = _DIGITS.fullmatch(_SPACES.sub(" ", text))
    digits = found["digits"].strip() if found else text
    sign = "," if "," in digits else "."
    as_group, as_decimal = digits.replace(sign, ""), digits.replace(sign, ".")
    other = "." if sign == "," else ","
    return Question(
        "mark",
        f"What number is “{text}”?",
        f"Row {row}: nothing in the file tells whether that sign parts thousands or begins the decimals.",
        [(other, f"{as_group}: the sign parts thousands"), (sign, f"{as_decimal}: the decimals begin there")],
    )
