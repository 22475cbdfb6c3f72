"""How readings went over a stretch of time: summed up for a table and told in words."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import fsum
from statistics import median

from django.utils import timezone

from shop import clock
from shop.room.queries import Point
from shop.wording import grouped


@dataclass(frozen=True)
class Stretch:
    """The readings of one hour, day, week or month that begins on `start`."""

    start: date
    count: int
    low: float
    mean: float
    high: float


@dataclass(frozen=True)
class Summary:
    """step: what each of `rows` covers: "hour", "day", "week", "month". middle: the median; the mean where the course
    is thinned. before, after: means of the readings in the first and in the last quarter of the time between the first
    reading and the last.
    """

    count: int
    low: float
    middle: float
    high: float
    before: float
    after: float
    step: str
    rows: list[Stretch]
    is_thinned: bool = False

    def words(self, say: Callable[[float], str], *, trend: bool = True) -> str:
        """In sentences; `say` puts a value into the reader's unit. trend: whether a way up or down means anything."""
        if self.count == 1:
            return f"One reading: {say(self.low)}."
        middle = "their mean" if self.is_thinned else "the middle one"
        told = (
            f"{grouped(self.count)} readings between {say(self.low)} and {say(self.high)}, {middle} {say(self.middle)}."
        )
        if not trend or self.count < 8:
            return told
        if say(self.before) == say(self.after):
            return f"{told} In the first and the last quarter of that time the mean is the same, {say(self.after)}."
        way = "rose" if self.after > self.before else "fell"
        return (
            f"{told} The mean {way} from {say(self.before)} in the first quarter of that time to {say(self.after)} in "
            "the last."
        )


def summary(course: Sequence[Point], days: int) -> Summary | None:
    """By hour for one day, by day for up to 31, by week for up to 100, by month beyond; None without readings."""
    if not course:
        return None
    is_thinned = any(point.many > 1 for point in course)
    first, last = course[0].at, course[-1].at
    quarter = (last - first) / 4
    step = "hour" if days <= 1 else "day" if days <= 31 else "week" if days <= 100 else "month"
    groups: dict[date, list[Point]] = {}
    for point in course:
        groups.setdefault(_start(point.at, step), []).append(point)
    return Summary(
        count=sum(point.many for point in course),
        low=min(point.low for point in course),
        middle=_mean(course) if is_thinned else median(point.value for point in course),
        high=max(point.high for point in course),
        before=_mean([point for point in course if point.at <= first + quarter]),
        after=_mean([point for point in course if point.at >= last - quarter]),
        step=step,
        is_thinned=is_thinned,
        rows=[
            Stretch(
                start=start,
                count=sum(point.many for point in some),
                low=min(point.low for point in some),
                mean=_mean(some),
                high=max(point.high for point in some),
            )
            for start, some in sorted(groups.items(), reverse=True)
        ],
    )


def _mean(some: Sequence[Point]) -> float:
    return fsum(point.value * point.many for point in some) / sum(point.many for point in some)


def _start(at: datetime, step: str) -> date:
    """The beginning of the stretch; of an hour as a moment of the room's zone."""
    if step == "hour":
        return timezone.localtime(at).replace(minute=0, second=0, microsecond=0)
    day = clock.day_of(at)
    if step == "week":
        return day - timedelta(days=day.weekday())
    return day.replace(day=1) if step == "month" else day
