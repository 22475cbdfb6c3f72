"""What is on record about a duty."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from django.db.models import QuerySet

from shop import clock
from shop.duties import effects
from shop.duties.models import SETTLES, Duty, DutyStep, Entry, EntryKind, EntryStep, Touched
from shop.duties.wording import limits_words, reading_words
from shop.people.models import Units

#: So many times are drawn.
DRAWN = 40


def entries() -> QuerySet[Entry]:
    """All entries, with their steps and what took their place; order by at and id, latest first, to leaf."""
    return Entry.objects.select_related("duty", "by", "under", "corrected_by").prefetch_related("steps")


def history(duty: Duty) -> QuerySet[Entry]:
    """All of one duty."""
    return entries().filter(duty=duty)


def entry_in_full() -> QuerySet[Entry]:
    """Entries with everything that their page shows."""
    return Entry.objects.select_related("duty__meter", "by", "under", "corrects", "corrected_by").prefetch_related(
        "steps", "photos__step"
    )


def touched_lines(entries: Sequence[Entry], reader: Units) -> list[tuple[str, bool]]:
    """What these entries really did elsewhere, in words, and whether it was undone since."""
    found = []
    rows = Touched.objects.filter(entry__in=entries, undoes=None).select_related("undone_by").order_by("id")
    for row in rows:
        effect = effects.of_kind(row.kind)
        pair = (row.target, row.amount)
        words = effect.words([pair], reader).get(pair) if effect else None
        found.append((words or f"touched {row.target_name}", hasattr(row, "undone_by")))
    return found


@dataclass(frozen=True)
class Line:
    """A step in words. reading, limits: of what is read in it, "" where nothing is."""

    step: DutyStep | EntryStep
    reading: str
    limits: str


def steps(duty: Duty) -> list[DutyStep]:
    """Its steps as they are now."""
    return list(DutyStep.objects.filter(duty=duty, is_active=True))


def steps_of(duties: Sequence[Duty]) -> dict[int, list[DutyStep]]:
    """The steps of several duties, by duty; one query."""
    found: dict[int, list[DutyStep]] = {duty.pk: [] for duty in duties}
    for step in DutyStep.objects.filter(duty__in=list(found), is_active=True):
        found[step.duty_id].append(step)
    return found


def step_lines(duty: Duty, reader: Units) -> list[Line]:
    return [Line(step, "", limits_words(step, reader) if step.reads else "") for step in steps(duty)]


def entry_lines(entry: Entry, reader: Units) -> list[Line]:
    """The steps of an entry with what was read, in the reader's units."""
    return [
        Line(
            step,
            reading_words(step.reading, step, reader) if step.reading is not None else "",
            limits_words(step, reader) if step.reads else "",
        )
        for step in entry.steps.all()
    ]


def last_readings(duty: Duty) -> dict[int, EntryStep]:
    """What the last entry read, by step."""
    if duty.last_entry_id is None:
        return {}
    rows = EntryStep.objects.filter(entry=duty.last_entry_id, reading__isnull=False)
    return {row.step_id: row for row in rows}


@dataclass(frozen=True)
class Interval:
    """One time it was done, against its plan.

    since: days since the time before; None for the first. planned: days that the plan gave; None where it gave none.
    late: days past the day it was due, below zero for early; None likewise.
    """

    entry: Entry
    day: date
    since: int | None
    planned: int | None
    late: int | None
    is_late: bool


@dataclass(frozen=True)
class Record:
    """The last times it was done or not needed, oldest first, and what they come to."""

    intervals: list[Interval]
    mean_since: float | None
    mean_planned: float | None
    late_count: int
    latest_by: int

    @property
    def spans(self) -> list[Interval]:
        """Those that have a time before them."""
        return [one for one in self.intervals if one.since is not None]


def record_of(duty: Duty, most: int = DRAWN) -> Record:
    """How the last times it was settled kept to the plan. One query."""
    entries = Entry.objects.filter(duty=duty, kind__in=SETTLES, corrected_by=None).order_by("-at", "-id")
    rows = list(entries[: most + 1])[::-1]
    days = [clock.day_of(entry.at) for entry in rows]
    found = []
    for place, (entry, day) in enumerate(zip(rows, days, strict=True)):
        before = days[place - 1] if place else None
        late = (day - entry.due_on).days if entry.due_on else None
        found.append(
            Interval(
                entry=entry,
                day=day,
                since=(day - before).days if before else None,
                planned=(entry.due_on - before).days if entry.due_on and before else None,
                late=late,
                is_late=late is not None and late > duty.late_days,
            )
        )
    if len(found) > most:
        found = found[1:]
    since = [one.since for one in found if one.since is not None]
    planned = [one.planned for one in found if one.planned is not None]
    late_ones = [one.late for one in found if one.is_late and one.late is not None]
    return Record(
        intervals=found,
        mean_since=fmean(since) if since else None,
        mean_planned=fmean(planned) if planned else None,
        late_count=len(late_ones),
        latest_by=max(late_ones, default=0),
    )


@dataclass(frozen=True)
class Series:
    """What was read in one step over time, oldest first; `step` is its latest wording."""

    step: EntryStep
    points: list[EntryStep]
    reader: Units

    @property
    def rows(self) -> list[tuple[EntryStep, str]]:
        """Each with its words."""
        return [(point, reading_words(point.reading or 0.0, point, self.reader)) for point in self.points]


def readings_of(duty: Duty, reader: Units, most: int = 400) -> list[Series]:
    """The readings of its steps that stand, for those read at least twice. One query."""
    read = EntryStep.objects.filter(entry__duty=duty, entry__corrected_by=None, reading__isnull=False)
    found: dict[int, list[EntryStep]] = {}
    for row in list(read.select_related("entry").order_by("-entry__at", "-id")[:most])[::-1]:
        found.setdefault(row.step_id, []).append(row)
    return [Series(points[-1], points, reader) for points in found.values() if len(points) > 1]


def put_offs_of(duty: Duty) -> list[Entry]:
    """The times it was put off since it was last done, oldest first."""
    rows = Entry.objects.filter(duty=duty, kind=EntryKind.PUT_OFF, corrected_by=None).select_related("by")
    if duty.last_entry is not None:
        rows = rows.filter(at__gte=duty.last_entry.at)
    return list(rows.order_by("at", "id"))
