"""Rules of recurrence by whole days: RFC 5545, 3.3.10, read by python-dateutil.

A rule says on which days, never at which hour: the hour is kept beside it and follows the wall clock. So the parts
below a day are refused, and so is a day that never comes. What is counted on is 12 years; a day that first comes
after that is one nobody waits for.

Finding the next day must not take longer for a rule that began long ago or never comes. So the search begins in the
period asked about, in step with the rule's interval; and it is made in the 97th century, whose calendar is ours (it
repeats every 400 years, weekdays too) and whose end, at which python-dateutil gives up, is near.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from itertools import takewhile
from typing import Any

from dateutil.rrule import rrulestr

FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
#: The longest rule, in characters; the largest interval; the most times.
LONGEST, MOST_APART, MOST_TIMES = 300, 1000, 1000
#: The first day of a rule must come within so many days of its start: 12 years.
FIRST_WITHIN = 12 * 366

_BELOW_A_DAY = {"SECONDLY", "MINUTELY", "HOURLY"}
_HOURS = {"BYHOUR", "BYMINUTE", "BYSECOND"}
#: Numbers a part may list: how far from 1, and whether they may count from the end.
_LISTS = {
    "BYMONTH": (12, False),
    "BYMONTHDAY": (31, True),
    "BYYEARDAY": (366, True),
    "BYWEEKNO": (53, True),
    "BYSETPOS": (366, True),
}
#: Frequencies in which RFC 5545 has no place for a part.
_OUT_OF_PLACE = {
    "BYWEEKNO": {"DAILY", "WEEKLY", "MONTHLY"},
    "BYYEARDAY": {"DAILY", "WEEKLY", "MONTHLY"},
    "BYMONTHDAY": {"WEEKLY"},
}
_DAY = re.compile(r"(?P<place>[+-]?[0-9]{1,2})?(?P<day>MO|TU|WE|TH|FR|SA|SU)")
_UNTIL = re.compile(r"(?P<day>[0-9]{8})(?:T(?P<time>[0-9]{6})Z)?")
#: A whole turn of the calendar, and the last year that is left as it is before one is added.
_TURN, _LAST = 400, 9960


class BadRule(ValueError):
    """A rule that can't be kept. Its sentence is fit to show; `part` names the argument: rule, start or zone."""

    def __init__(self, sentence: str, part: str = "rule") -> None:
        super().__init__(sentence)
        self.part = part


@dataclass(frozen=True)
class Rule:
    """A rule, read. parts: the other BY parts as they were written, by name; until: its last day or moment."""

    text: str
    freq: str
    interval: int
    count: int | None
    until: date | datetime | None
    wkst: int
    parts: tuple[tuple[str, str], ...]

    def has(self, *names: str) -> bool:
        return any(name in names for name, _ in self.parts)

    def part(self, name: str) -> str:
        return dict(self.parts).get(name, "")

    @property
    def is_plain(self) -> bool:
        """Whether it says nothing but a number of days, weeks, months or years."""
        return not self.parts and self.count is None


@lru_cache(maxsize=4096)
def read_rule(text: str) -> Rule:
    """The rule that the text says, with or without "RRULE:" before it. BadRule, with a sentence, for any other text."""
    tight = re.sub(r"\s+", "", text).upper().removeprefix("RRULE:").strip(";")
    if not tight:
        raise BadRule("Say how often, such as FREQ=WEEKLY;BYDAY=MO.")
    if len(tight) > LONGEST:
        raise BadRule(f"A rule has at most {LONGEST} letters; this one has {len(tight)}.")
    said: dict[str, str] = {}
    for one in tight.split(";"):
        name, equals, value = one.partition("=")
        if not equals or not value:
            raise BadRule(f"“{one[:30]}” is not a part of a rule: each has a name, = and a value.")
        if name in said:
            raise BadRule(f"{name[:20]} is there twice. Say it once.")
        said[name] = value
    return _rule(said)


def _rule(said: dict[str, str]) -> Rule:
    freq = said.pop("FREQ", "")
    if freq in _BELOW_A_DAY:
        raise BadRule("A duty falls due once a day at most: use FREQ=DAILY. The hour has a box of its own.")
    if freq not in FREQUENCIES:
        raise BadRule("A rule says FREQ=DAILY, FREQ=WEEKLY, FREQ=MONTHLY or FREQ=YEARLY.")
    if hours := _HOURS & set(said):
        raise BadRule(f"Leave {min(hours)} out: the hour has a box of its own.")
    interval = _number("INTERVAL", said.pop("INTERVAL", "1"), MOST_APART)
    count = _number("COUNT", said.pop("COUNT"), MOST_TIMES) if "COUNT" in said else None
    until = _until(said.pop("UNTIL")) if "UNTIL" in said else None
    if count is not None and until is not None:
        raise BadRule("A rule ends by COUNT or by UNTIL, not by both.")
    week_start = said.pop("WKST", "MO")
    if week_start not in WEEKDAYS:
        raise BadRule(f"WKST is one of {', '.join(WEEKDAYS)}.")
    for name, value in said.items():
        _check_part(name, value, freq, said)
    return Rule(
        text=_text(freq, interval, count, until, week_start, said),
        freq=freq,
        interval=interval,
        count=count,
        until=until,
        wkst=WEEKDAYS.index(week_start),
        parts=tuple(sorted(said.items())),
    )


def _number(name: str, value: str, most: int) -> int:
    if not (value.isascii() and value.isdigit() and len(value) < 10 and 1 <= int(value) <= most):
        raise BadRule(f"{name} is a whole number from 1 to {most}.")
    return int(value)


def _until(value: str) -> date | datetime:
    found = _UNTIL.fullmatch(value)
    try:
        if found is None:
            raise ValueError(value)
        if found["time"]:
            return datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
        return datetime.strptime(value, "%Y%m%d").replace(tzinfo=UTC).date()
    except ValueError as wrong:
        raise BadRule("UNTIL is a day, such as UNTIL=20261231.") from wrong


def _check_part(name: str, value: str, freq: str, said: dict[str, str]) -> None:
    if name not in _LISTS and name != "BYDAY":
        raise BadRule(f"“{name[:20]}” is not a part of a rule that a duty can have.")
    if freq in _OUT_OF_PLACE.get(name, ()):
        raise BadRule(f"{name} has no place in a rule with FREQ={freq}.")
    if name == "BYSETPOS" and len(said) == 1:
        raise BadRule("BYSETPOS picks from days that another part names: name them, such as BYDAY=MO.")
    for one in value.split(","):
        if name == "BYDAY":
            _check_day(one, freq, said)
            continue
        most, from_end = _LISTS[name]
        number = one.removeprefix("-") if from_end else one
        if not (number.removeprefix("+").isdigit() and number.isascii() and len(number) < 5):
            raise BadRule(f"“{one[:20]}” in {name} is not a whole number.")
        if not 1 <= int(number) <= most:
            raise BadRule(f"{name} takes numbers from 1 to {most}{', or from the end with a minus' * from_end}.")


def _check_day(one: str, freq: str, said: dict[str, str]) -> None:
    found = _DAY.fullmatch(one)
    if found is None:
        raise BadRule(f"“{one[:20]}” is not a day: MO, TU, WE, TH, FR, SA or SU.")
    if found["place"] is None:
        return
    if freq not in ("MONTHLY", "YEARLY") or "BYWEEKNO" in said:
        raise BadRule(f"Which {found['day']} it is ({one}) is only said in rules by month or year.")
    if not 1 <= abs(int(found["place"])) <= (5 if freq == "MONTHLY" or "BYMONTH" in said else 53):
        raise BadRule(f"There is no {one} in a month or year.")


def _text(
    freq: str, interval: int, count: int | None, until: date | datetime | None, week_start: str, parts: dict[str, str]
) -> str:
    """The rule as it is kept: what says nothing is left out."""
    written = [f"FREQ={freq}"]
    if interval > 1:
        written.append(f"INTERVAL={interval}")
    written += [f"{name}={value}" for name, value in sorted(parts.items())]
    if week_start != "MO":
        written.append(f"WKST={week_start}")
    if count is not None:
        written.append(f"COUNT={count}")
    if isinstance(until, datetime):
        written.append(f"UNTIL={until:%Y%m%dT%H%M%SZ}")
    elif until is not None:
        written.append(f"UNTIL={until:%Y%m%d}")
    return ";".join(written)


# Its days -------------------------------------------------------------------------------------------------------------


def first_day(rule: Rule, start: date, *, after: date, last: date | None = None) -> date | None:
    """The rule's first day later than `after`, if it begins on `start` (or the first of its days then); None for none.

    last: the rule's last possible day, where UNTIL gives one (see plan.last_day).
    """
    for day in _days_from(rule, start, after + timedelta(days=1)):
        if last is not None and day > last:
            return None
        if day > after:
            return day
    return None


def days_between(rule: Rule, start: date, *, first: date, through: date) -> list[date]:
    """The rule's days from `first` through `through`, in order."""
    found = takewhile(lambda day: day <= through, _days_from(rule, start, first))
    return [day for day in found if day >= first]


def _days_from(rule: Rule, start: date, near: date) -> Iterator[date]:
    """The rule's days in order: all of them, or from the last period before `near` on."""
    named = dict(rule.parts)
    named |= _unsaid(rule, start)
    begin = start if rule.count is not None or near <= start else _in_step(rule, start, near)
    turns = max(0, (_LAST - begin.year) // _TURN)
    text = ";".join(
        [
            f"FREQ={rule.freq};INTERVAL={rule.interval};WKST={WEEKDAYS[rule.wkst]}",
            *(f"{name}={value}" for name, value in named.items()),
            *([f"COUNT={rule.count}"] if rule.count is not None else []),
        ]
    )
    shifted = begin.replace(year=begin.year + _TURN * turns)
    found: Any = rrulestr(text, dtstart=datetime.combine(shifted, time(), UTC))
    for moment in found:
        yield moment.date().replace(year=moment.year - _TURN * turns)


def _unsaid(rule: Rule, start: date) -> dict[str, str]:
    """What a rule leaves to its first day to say: the weekday, the day of the month, the month."""
    if rule.has("BYDAY", "BYMONTHDAY", "BYYEARDAY", "BYWEEKNO") or rule.freq == "DAILY":
        return {}
    if rule.freq == "WEEKLY":
        return {"BYDAY": WEEKDAYS[start.weekday()]}
    if rule.freq == "YEARLY" and not rule.has("BYMONTH"):
        return {"BYMONTH": str(start.month), "BYMONTHDAY": str(start.day)}
    return {"BYMONTHDAY": str(start.day)}


def _in_step(rule: Rule, start: date, near: date) -> date:
    """The first day of the latest of the rule's periods that begins no later than `near`."""
    apart = rule.interval
    if rule.freq == "DAILY":
        return start + timedelta(days=(near - start).days // apart * apart)
    if rule.freq == "WEEKLY":
        week = start - timedelta(days=(start.weekday() - rule.wkst) % 7)
        return max(start, week + timedelta(weeks=(near - week).days // 7 // apart * apart))
    if rule.freq == "MONTHLY":
        months = (near.year - start.year) * 12 + near.month - start.month
        year, month = divmod(start.year * 12 + start.month - 1 + months // apart * apart, 12)
        return max(start, date(year, month + 1, 1))
    return max(start, date(start.year + (near.year - start.year) // apart * apart, 1, 1))
