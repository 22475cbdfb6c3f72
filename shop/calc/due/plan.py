"""When care falls due: from its rule, its meter and what was recorded of it.

A duty is due from an hour of a day on, and late once its days of grace have passed, at midnight in its zone.
"""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from dateutil.relativedelta import relativedelta

from shop.calc.due.moments import day_in, end_of, moment_of, zone_of
from shop.calc.due.rules import FIRST_WITHIN, BadRule, Rule, days_between, first_day, read_rule
from shop.calc.due.words import in_full

_PLAIN_STEP = {"DAILY": "days", "WEEKLY": "weeks", "MONTHLY": "months", "YEARLY": "years"}


@dataclass(frozen=True)
class Calendar:
    """The calendar part of a duty.

    rule: RFC 5545 text; start: its first possible day; at: the hour; zone: whose clocks count; from_entry: whether each
    interval begins on the day of the last entry, or else runs on by the plan; early_days: so many days before a day of
    the plan an entry counts for it.
    """

    rule: str
    start: date
    at: time
    zone: str
    from_entry: bool = False
    early_days: int = 0


@dataclass(frozen=True)
class Due:
    """When something is next due. day: in its zone; at: from when, in UTC; late_at: the moment its grace is over."""

    day: date
    at: datetime
    late_at: datetime


def check(calendar: Calendar) -> Rule:
    """The calendar's rule, read. BadRule for a rule that can't be kept or never falls due, an end before the start, a
    count where the days are counted from the last entry, or a zone that does not exist."""
    try:
        zone_of(calendar.zone)
    except ValueError as wrong:
        raise BadRule(str(wrong), "zone") from wrong
    rule = read_rule(calendar.rule)
    if calendar.from_entry and rule.count is not None:
        raise BadRule(
            "COUNT can't be told where days are counted from the last entry. End it with UNTIL, or not at all."
        )
    if not 1970 <= calendar.start.year <= 2200:
        raise BadRule("Give a first day between 1970 and 2200.", "start")
    last = last_day(rule, calendar)
    if last is not None and last < calendar.start:
        raise BadRule(f"The rule ends on {in_full(last)}, before its first day, {in_full(calendar.start)}.")
    first = first_day(rule, calendar.start, after=calendar.start - timedelta(days=1), last=last)
    if first is None or (first - calendar.start).days > FIRST_WITHIN:
        raise BadRule("That rule never falls due: none of its days comes within twelve years.")
    return rule


def last_day(rule: Rule, calendar: Calendar) -> date | None:
    """The last day on which the rule may fall due, by its UNTIL."""
    if rule.until is None:
        return None
    if not isinstance(rule.until, datetime):
        return rule.until
    day = day_in(rule.until, calendar.zone)
    return day if moment_of(day, calendar.at, calendar.zone) <= rule.until else day - timedelta(days=1)


def next_day(calendar: Calendar, settled: date | None) -> date | None:
    """The day on which it next falls due; None if never again.

    settled: the day (in its zone) of the last entry that settled it, None for none yet. By the plan, an entry settles
    every day of the plan up to `early_days` after it. From the entry, the next day is one interval later: a month after
    31 January is the last day of February, where a rule of RFC 5545 would leave February out.
    """
    rule = read_rule(calendar.rule)
    last = last_day(rule, calendar)
    if settled is None:
        return first_day(rule, calendar.start, after=calendar.start - timedelta(days=1), last=last)
    if not calendar.from_entry:
        return first_day(rule, calendar.start, after=settled + timedelta(days=calendar.early_days), last=last)
    day: date | None
    if rule.is_plain:
        step = settled + relativedelta(**{_PLAIN_STEP[rule.freq]: rule.interval})  # type: ignore[arg-type]
        day = None if last is not None and step > last else step
    else:
        day = first_day(rule, settled, after=settled, last=last)
    if day is not None and day < calendar.start:
        return first_day(rule, calendar.start, after=calendar.start - timedelta(days=1), last=last)
    return day


def planned_days(calendar: Calendar, settled: date | None, *, first: date, through: date) -> list[date]:
    """The days from `first` through `through` on which it falls due, if each is done on its day from now on."""
    found = []
    day = next_day(calendar, settled)
    if not calendar.from_entry:
        rule = read_rule(calendar.rule)
        last = last_day(rule, calendar)
        begin = max(first, day) if day is not None else None
        if begin is None or begin > through:
            return []
        until = through if last is None else min(through, last)
        return days_between(rule, calendar.start, first=begin, through=until)
    while day is not None and day <= through:
        if day >= first:
            found.append(day)
        day = next_day(calendar, day)
    return found


def by_rule(calendar: Calendar, settled: date | None, *, late_days: int) -> Due | None:
    """When its rule has it due next; None if never again. late_days: days of grace after it."""
    day = next_day(calendar, settled)
    if day is None:
        return None
    return Due(day, moment_of(day, calendar.at, calendar.zone), end_of(day + timedelta(days=late_days), calendar.zone))


def by_meter(reached_at: datetime, zone: str, *, late_days: int) -> Due:
    """When a meter has it due that reached the amount at `reached_at`: at once, with the same grace."""
    day = day_in(reached_at, zone)
    return Due(day, reached_at, end_of(day + timedelta(days=late_days), zone))


def put_off(due: Due | None, until: date, at: time, zone: str, *, late_days: int) -> Due | None:
    """What is due, put off to `until`, unless it comes later anyway."""
    if due is None or due.day >= until:
        return due
    return Due(until, moment_of(until, at, zone), end_of(until + timedelta(days=late_days), zone))


def soonest(*dues: Due | None) -> Due | None:
    """Whichever comes first."""
    return min((due for due in dues if due is not None), key=lambda due: due.at, default=None)
