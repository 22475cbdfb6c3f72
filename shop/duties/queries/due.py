"""What is due: for the page that says so, for papers, for concerns."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import DateTimeField, Q, QuerySet

from shop import clock
from shop.duties.models import Duty, Entry, EntryKind
from shop.people.models import Person
from shop.prepared import Given, prepared
from shop.recall import recalled

#: How far ahead the page looks, and how many it lists at most.
DAYS_AHEAD = 7
MOST = 200


def in_full() -> QuerySet[Duty]:
    """Duties with all that their lines show."""
    return Duty.objects.select_related("meter", "for_person", "last_entry")


@recalled
def due_now(now: datetime) -> list[Duty]:
    """Active duties that are due at `now`, and those whose last entry read something amiss: one query."""
    return _due(now=now)


@prepared
def _due() -> QuerySet[Duty]:
    worth = Q(due_at__lte=Given("now", DateTimeField())) | ~Q(amiss="")
    return in_full().filter(worth, is_active=True).order_by("late_at", "due_at", "name")


def is_due(duty: Duty, now: datetime) -> bool:
    return duty.due_at is not None and duty.due_at <= now


def is_late(duty: Duty, now: datetime) -> bool:
    return duty.late_at is not None and duty.late_at <= now


@dataclass(frozen=True)
class DueLists:
    """What is late, what is to be done today, and what the next seven days bring; late ones first due first.

    done: what was recorded today. yours, everyones: how many there are in all of each. left_out: how many more there
    are than a page lists.
    """

    late: list[Duty]
    today: list[Duty]
    week: list[Duty]
    done: list[Entry]
    yours: int
    everyones: int
    left_out: int = 0

    @property
    def all(self) -> list[Duty]:
        return [*self.late, *self.today, *self.week]


def is_for(duty: Duty, person: Person) -> bool:
    """Whether a duty is this person's, or anybody's."""
    if duty.for_person_id is not None:
        return duty.for_person_id == person.pk
    return not duty.for_role or duty.for_role == person.role


def due_lists(now: datetime, person: Person, *, whose: str) -> DueLists:
    """What is due at `now`: with whose "yours" what is for this person or anybody, else everyone's. Two queries."""
    day = clock.day_of(now)
    last = day + timedelta(days=DAYS_AHEAD)
    end = clock.day_bounds(last)[1]
    found = list(
        in_full()
        .filter(Q(due_at__lt=end) | Q(expected_on__lte=last), is_active=True)
        .order_by("due_at", "expected_on", "name")
    )
    mine = [duty for duty in found if is_for(duty, person)]
    shown = mine if whose == "yours" else found
    listed = sorted(shown, key=lambda duty: _place(duty, last))[:MOST]
    late = [duty for duty in listed if is_late(duty, now)]
    today = [duty for duty in listed if duty not in late and duty.due_on is not None and duty.due_on <= day]
    return DueLists(
        late=late,
        today=today,
        week=[duty for duty in listed if duty not in late and duty not in today],
        done=done_on(day),
        yours=len(mine),
        everyones=len(found),
        left_out=len(shown) - len(listed),
    )


def _place(duty: Duty, last: date) -> tuple[date, str]:
    """The day that puts it in its place on the page: due, or expected."""
    days = [day for day in (duty.due_on, duty.expected_on) if day is not None and day <= last]
    return min(days, default=last), duty.name


def done_on(day: date) -> list[Entry]:
    """What stands as done or not needed on that day, latest first; two queries."""
    start, end = clock.day_bounds(day)
    kinds = [EntryKind.DONE, EntryKind.NOT_NEEDED]
    entries = Entry.objects.filter(at__gte=start, at__lt=end, corrected_by=None, kind__in=kinds)
    return list(entries.select_related("duty").prefetch_related("steps").order_by("-at", "-id")[:MOST])


def duty_that_resets(meters: Iterable[int]) -> dict[int, Duty]:
    """The active duty that falls by each of these meters and resets it, by meter."""
    rows = Duty.objects.filter(is_active=True, resets_own_meter=True, meter__in=list(meters)).order_by("-id")
    return {duty.meter_id: duty for duty in rows.select_related("meter") if duty.meter_id is not None}
