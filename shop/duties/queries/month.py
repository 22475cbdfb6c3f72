"""A month of care: what was recorded in it, and what its days still bring."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from shop import clock
from shop.calc import due as calc
from shop.duties.models import Duty, Entry, EntryKind
from shop.duties.queries.due import in_full, is_late

#: Months that can be opened.
FIRST_YEAR, LAST_YEAR = 2000, 2199
#: So many lines a day shows at most.
MOST_A_DAY = 12


@dataclass(frozen=True)
class Coming:
    """A duty on a day to come. is_late: past its grace; is_expected: forecast by its meter, so about that day."""

    duty: Duty
    is_late: bool = False
    is_expected: bool = False


@dataclass
class Day:
    """One day of the month. left_out: how many more there are than are listed."""

    day: date
    in_month: bool
    is_today: bool = False
    entries: list[Entry] = field(default_factory=list)
    coming: list[Coming] = field(default_factory=list)
    left_out: int = 0

    @property
    def is_empty(self) -> bool:
        return not (self.entries or self.coming)


@dataclass(frozen=True)
class Month:
    """weeks: from Monday, whole ones; before, after: the first days of the months beside it, None past the edge."""

    first: date
    weeks: list[list[Day]]
    before: date | None
    after: date | None

    @property
    def days(self) -> list[Day]:
        """Its own days that hold something."""
        return [day for week in self.weeks for day in week if day.in_month and not day.is_empty]


def first_of_month(text: str, today: date) -> date:
    """The first day of the month written as "2025-03"; of today's where it is not written so."""
    try:
        found = datetime.strptime(text, "%Y-%m").replace(tzinfo=clock.now().tzinfo).date()
    except ValueError:
        return today.replace(day=1)
    return found if FIRST_YEAR <= found.year <= LAST_YEAR else today.replace(day=1)


def month_of(first: date, now: datetime) -> Month:
    """The month that begins on `first`, as seen at `now`. Two queries, however much there is."""
    after = (first + timedelta(days=32)).replace(day=1)
    last = after - timedelta(days=1)
    today = clock.day_of(now)
    entries = _entries(first, last)
    coming = _coming(first, last, today, now)
    begin = first - timedelta(days=first.weekday())
    weeks = []
    while begin <= last:
        week = [_day(begin + timedelta(days=n), first, today, entries, coming) for n in range(7)]
        weeks.append(week)
        begin += timedelta(days=7)
    before = (first - timedelta(days=1)).replace(day=1)
    return Month(
        first=first,
        weeks=weeks,
        before=before if before.year >= FIRST_YEAR else None,
        after=after if after.year <= LAST_YEAR else None,
    )


def _day(
    day: date, first: date, today: date, entries: dict[date, list[Entry]], coming: dict[date, list[Coming]]
) -> Day:
    in_month = day.month == first.month
    if not in_month:
        return Day(day, in_month=False)
    recorded, ahead = entries.get(day, []), coming.get(day, [])
    room = max(0, MOST_A_DAY - len(recorded))
    return Day(
        day,
        in_month=True,
        is_today=day == today,
        entries=recorded[:MOST_A_DAY],
        coming=ahead[:room],
        left_out=max(0, len(recorded) - MOST_A_DAY) + max(0, len(ahead) - room),
    )


def _entries(first: date, last: date) -> dict[date, list[Entry]]:
    """What stands as recorded, by day."""
    found: dict[date, list[Entry]] = defaultdict(list)
    within = Entry.objects.filter(at__gte=clock.day_bounds(first)[0], at__lt=clock.day_bounds(last)[1])
    standing = within.filter(corrected_by=None).exclude(kind=EntryKind.STRUCK)
    for entry in standing.select_related("duty").prefetch_related("steps").order_by("at"):
        found[clock.day_of(entry.at)].append(entry)
    return found


def _coming(first: date, last: date, today: date, now: datetime) -> dict[date, list[Coming]]:
    """What falls due, by day, as if each were done when it is due from now on."""
    found: dict[date, list[Coming]] = defaultdict(list)
    if last < today:
        return found
    for duty in in_full().filter(is_active=True, begun_at__isnull=False).order_by("name"):
        done = duty.due_on
        if duty.due_on is not None:
            day = max(duty.due_on, today)  # what is due since earlier is there to be done today
            if first <= day <= last:
                found[day].append(Coming(duty, is_late=is_late(duty, now)))
            done = day
        for day in _planned(duty, done, max(first, today), last):
            found[day].append(Coming(duty))
        expected = duty.expected_on
        if expected is not None and first <= expected <= last and (duty.due_on is None or expected < duty.due_on):
            found[expected].append(Coming(duty, is_expected=True))
    return found


def _planned(duty: Duty, done: date | None, first: date, last: date) -> list[date]:
    """The days of its calendar after the one it is due on, if it is done then."""
    calendar = duty.calendar(duty.zone)
    if calendar is None or done is None or done > last:
        return []
    return calc.planned_days(calendar, done, first=max(first, done + timedelta(days=1)), through=last)
