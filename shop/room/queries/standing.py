"""Standing tests and what they found."""

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from django.db.models import QuerySet

from shop.calc import gas
from shop.room.contents import full_kg
from shop.room.models import Cylinder, StandingTest

#: Standard deviations of one reading: of the dial and the eye before it, bar, and of the gas's temperature. Our own
#: judgement, said wherever a result stands.
GAUGE_SD_BAR, CELSIUS_SD = 1.0, 1.0
#: Of the interval about a leak.
LEVEL = 0.95


class Ends(NamedTuple):
    """What a test rests on: gauge in bar and temperature at both ends, and when that was."""

    first_bar: float
    first_c: float
    last_bar: float
    last_c: float
    begun: datetime
    ended: datetime

    @property
    def hours(self) -> float:
        return (self.ended - self.begun).total_seconds() / 3600


@dataclass(frozen=True)
class Tightness:
    """What a standing test says. All rates in grams a day; beyond low and high one time in twenty.

    found_from: the smallest leak that such a test tells from none; lasts_days: until a full cylinder were lost by it,
    None where nothing leaks as far as can be told.
    """

    ends: Ends
    g_day: float
    low_g_day: float
    high_g_day: float
    l_min: float
    is_leak: bool
    lasts_days: float | None

    @property
    def found_from(self) -> float:
        return (self.high_g_day - self.low_g_day) / 2

    @property
    def lasts_words(self) -> str:
        """Until a full cylinder were lost by it: "18 hours", "3 days"; "" where no leak shows."""
        if self.lasts_days is None:
            return ""
        count, unit = (self.lasts_days, "day") if self.lasts_days >= 2 else (24 * self.lasts_days, "hour")
        shown = f"{count:.0f}"
        return f"{shown} {unit}{'' if shown == '1' else 's'}"

    @property
    def rates(self) -> tuple[float, float, float]:
        """The rate, and the interval about it; below nought is what the readings' error makes of no leak."""
        return self.g_day, self.low_g_day, self.high_g_day

    @property
    def words(self) -> str:
        """What it says in one sentence, with how sure that is."""
        if self.is_leak:
            return (
                f"It leaks: {self.g_day:.0f}\u00a0g of nitrogen a day, between {self.low_g_day:.0f} and "
                f"{self.high_g_day:.0f}, temperature reckoned with."
            )
        rate, low, high = (f"{round(each)}".replace("-", "\u2212") for each in self.rates)
        return (
            f"No leak shows: {rate}\u00a0g a day, between {low} and {high}, temperature reckoned with, which may be "
            f"none. This test tells a leak from {self.found_from:.0f}\u00a0g a day on."
        )


def tightness(cylinder: Cylinder, ends: Ends) -> Tightness:
    """The leak that a test shows, its temperatures reckoned with, and how sure that is."""
    leak = gas.leak_rate(
        cylinder.water_volume_l,
        ends.first_bar,
        ends.first_c,
        ends.last_bar,
        ends.last_c,
        ends.hours,
        gauge_sd_bar=GAUGE_SD_BAR,
        celsius_sd=CELSIUS_SD,
        level=LEVEL,
    )
    a_day = 24_000 * leak.kg_per_hour
    return Tightness(
        ends=ends,
        g_day=a_day,
        low_g_day=24_000 * leak.low_kg_per_hour,
        high_g_day=24_000 * leak.high_kg_per_hour,
        l_min=leak.litres_per_hour / 60,
        is_leak=leak.sure,
        lasts_days=1000 * full_kg(cylinder) / a_day if leak.sure else None,
    )


def standing_tests(cylinder: Cylinder) -> QuerySet[StandingTest]:
    """The tests of a cylinder, latest first, with their readings and what corrected those."""
    return (
        StandingTest.objects.filter(cylinder=cylinder)
        .select_related("first__corrected_by", "last__corrected_by", "first__by", "last__by", "dropped_by")
        .order_by("-id")
    )


def ends_of(test: StandingTest) -> Ends | None:
    """Both ends of a test, by what its readings were corrected to; None while it runs and where it was dropped."""
    if test.last is None or test.last_c is None:
        return None
    first, last = (getattr(reading, "corrected_by", reading) for reading in (test.first, test.last))
    return Ends(first.value, test.first_c, last.value, test.last_c, test.first.at, test.last.at)


@dataclass(frozen=True)
class Tested:
    """A test with what it says."""

    test: StandingTest
    found: Tightness | None


def standing_results(cylinder: Cylinder, *, most: int = 10) -> list[Tested]:
    """The latest tests of a cylinder: one query."""
    return [
        Tested(test, tightness(cylinder, ends) if (ends := ends_of(test)) else None)
        for test in standing_tests(cylinder)[:most]
    ]
