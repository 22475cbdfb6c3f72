"""How readings went over a stretch of time: summed up for a table and told in words."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean, median

from shop import clock
from shop.room.queries import Point


@dataclass(frozen=True)
class Stretch:
    """The readings of one day, week or month that begins on `start`."""

    start: date
    count: int
    low: float
    mean: float
    high: float


@dataclass(frozen=True)
class Summary:
    """step: what each of `rows` covers: "day", "week", "month". before, after: means of the first and last quarter."""

    count: int
    low: float
    middle: float
    high: float
    before: float
    after: float
    step: str
    rows: list[Stretch]

    def words(self, say: Callable[[float], str], *, trend: bool = True) -> str:
        """In sentences; `say` puts a value into the reader's unit. trend: whether a way up or down means anything."""
        if self.count == 1:
            return f"One reading: {say(self.low)}."
        told = f"{self.count} readings between {say(self.low)} and {say(self.high)}, the middle one {say(self.middle)}."
        if not trend or self.count < 8:
            return told
        if say(self.before) == say(self.after):
            return f"{told} Early and late in this stretch the mean is the same, {say(self.after)}."
        way = "rose" if self.after > self.before else "fell"
        return f"{told} The mean {way} from {say(self.before)} in its first quarter to {say(self.after)} in its last."


def summary(course: Sequence[Point], days: int) -> Summary | None:
    """By day for up to 31 days, by week for up to 100, by month beyond; None without readings."""
    if not course:
        return None
    values = [point.value for point in course]
    quarter = max(1, len(values) // 4)
    step = "day" if days <= 31 else "week" if days <= 100 else "month"
    groups: dict[date, list[float]] = {}
    for point in course:
        groups.setdefault(_start(clock.day_of(point.at), step), []).append(point.value)
    return Summary(
        count=len(values),
        low=min(values),
        middle=median(values),
        high=max(values),
        before=fmean(values[:quarter]),
        after=fmean(values[-quarter:]),
        step=step,
        rows=[
            Stretch(start=start, count=len(some), low=min(some), mean=fmean(some), high=max(some))
            for start, some in sorted(groups.items(), reverse=True)
        ],
    )


def _start(day: date, step: str) -> date:
    if step == "week":
        return day - timedelta(days=day.weekday())
    return day.replace(day=1) if step == "month" else day
