"""Nitrogen that went from a cylinder and that nothing explains: what is read for it, and what became of it since."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce, ExtractHour, JSONObject

from shop import clock
from shop.calc import gas
from shop.room import since
from shop.room.contents import ASSUMED_C, GAS_C, MOST_BAR
from shop.room.hours import HOUR
from shop.room.models import (
    Cylinder,
    ExplainedLoss,
    GasForecast,
    GasUse,
    Reading,
    ReadingHour,
    ReadingKind,
    StandingTest,
)
from shop.room.queries.gas import gas_use
from shop.room.queries.readings import celsius_around, nearest_celsius, readings
from shop.room.queries.standing import CELSIUS_SD, GAUGE_SD_BAR, Ends, Tightness, tightness
from shop.topic import Row, asked_alone, midnight, moment

#: How far the gas's temperature may be off where none was read near the gauge, a standard deviation: our own figure.
ASSUMED_SD = 4.0
#: So many of the last readings of a cylinder are looked at.
LAST_READINGS = 60
#: Where an instrument reads it each few minutes, the means of these hours of so many days are taken instead.
_EVERY, _INSTRUMENT_DAYS = tuple(range(0, 24, 3)), 10
#: An hour with so many readings of a gauge is such an instrument's; one that reads less often than so many minutes is
#: taken as an eye is.
_INSTRUMENT_FROM, _SLOW_MIN = 3, 20


@lru_cache(maxsize=4096)
def _grams(litres: float, bar: float, celsius: float) -> float:
    return 1000 * gas.nitrogen_mass_kg(litres, bar, celsius)


def stood(litres: float, at: datetime, bar: float, celsius: float | None, *, sides_since: int) -> gas.Stood:
    """What a gauge reading says, with its errors as a standing test takes them. celsius: None where none was read."""
    known = celsius is not None and GAS_C[0] <= celsius <= GAS_C[1]
    warm = celsius if known and celsius is not None else ASSUMED_C
    bar = min(max(bar, 0.0), MOST_BAR - 1)
    grams = _grams(litres, bar, warm)
    bar_g = _grams(litres, bar + 1, warm) - grams
    warm_g = abs(grams - _grams(litres, bar, warm - 1)) * (CELSIUS_SD if known else ASSUMED_SD)
    return gas.Stood(at.timestamp() / 86400, -sides_since, grams, GAUGE_SD_BAR * bar_g, bar_g, warm_g)


def kept_habit() -> gas.GasHabit:
    """What the room is used to use, as it was last worked out: one query, and the shop's own figures."""
    return _habit(GasForecast.objects.values(*HABIT).first() or {}, gas_use().side_g)


#: The columns that keep a habit.
HABIT = ("side_g", "side_most_g", "other_g", "spread_g")


def _habit(kept: dict[str, Any], stated_side_g: float) -> gas.GasHabit:
    if kept.get("side_g") is None:
        return gas.gas_habit([], None, stated_side_g)
    return gas.GasHabit(*(kept[name] for name in HABIT))


# What is read ---------------------------------------------------------------------------------------------------------


def connected(cylinder: str) -> Q:
    """That the cylinder by that name of a relation ("" for the table itself) feeds the room."""
    lead = f"{cylinder}__" if cylinder else ""
    return Q(
        **{f"{lead}connected_at__isnull": False, f"{lead}empty_at__isnull": True, f"{lead}returned_on__isnull": True}
    )


def loss_rows(of: Callable[[str], Q]) -> Iterator[QuerySet[Any]]:
    """What losses are told by, for a topic: the cylinder, its readings by eye, an instrument's hours, its tests.

    of: which cylinder, by the name of the relation to it, as `connected` says it.
    """
    kept = GasForecast.objects.filter(pk=1)
    yield Cylinder.objects.filter(of("")).annotate(
        told=JSONObject(
            cylinder=F("pk"),
            mark=F("mark"),
            litres=F("water_volume_l"),
            fill_bar=F("fill_bar"),
            fill_c=F("fill_c"),
            stated=Coalesce(Subquery(GasUse.objects.values("side_g")[:1]), Value(GasUse().side_g)),
            **{name: Subquery(kept.values(name)[:1]) for name in HABIT},
        )
    )
    slowly = Q(instrument=None) | Q(instrument__every_min__gt=_SLOW_MIN)
    own = readings().filter(of("cylinder"), slowly, kind=ReadingKind.NITROGEN_BAR)
    last = own.order_by("-at", "-id").values("pk")[:LAST_READINGS]
    yield Reading.objects.filter(pk__in=last).annotate(
        told=JSONObject(
            gauge=F("pk"),
            at=F("at"),
            bar=F("value"),
            beside=F("beside_c"),
            sides=since.counted(),
            **celsius_around(),
        )
    )
    mean = F("total") / F("count")
    hours = ReadingHour.objects.annotate(o_clock=ExtractHour("hour", tzinfo=UTC)).filter(
        kind=ReadingKind.NITROGEN_BAR,
        of__in=Cylinder.objects.filter(of("")).values("pk"),
        count__gte=_INSTRUMENT_FROM,
        hour__gte=midnight(days=-_INSTRUMENT_DAYS),
        o_clock__in=_EVERY,
    )
    warm_then = ReadingHour.objects.filter(kind=ReadingKind.ROOM_C, of=0, hour=OuterRef("hour"), count__gt=0)
    yield hours.annotate(
        told=JSONObject(
            hour=F("hour"),
            bar=mean,
            sides=since.counted_after("hour"),
            celsius=Subquery(warm_then.annotate(mean=mean).values("mean")[:1]),
        )
    )
    yield ExplainedLoss.objects.filter(of("cylinder")).annotate(
        told=JSONObject(what=F("what"), until=F("until"), at=F("at"), by=F("by__name"))
    )
    yield StandingTest.objects.filter(of("cylinder"), last__isnull=False, dropped_at=None).annotate(
        told=JSONObject(
            begun=F("first__at"),
            ended=F("last__at"),
            first_bar=Coalesce("first__corrected_by__value", "first__value"),
            last_bar=Coalesce("last__corrected_by__value", "last__value"),
            first_c=F("first_c"),
            last_c=F("last_c"),
        )
    )


# What it comes to -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Ended:
    """One end of a loss: what the gauge showed, and when."""

    at: datetime
    bar: float


@dataclass(frozen=True)
class Lost:
    """Gas that went and that nothing explains. All in kg.

    explained: somebody wrote down what it was, or something that came later; tested: a standing test since tells no
    leak of such a rate. Neither: it is open.
    """

    first: Ended
    last: Ended
    gone_kg: float
    used_kg: float
    allowed_kg: float
    sides: int
    explained: bool
    tested: bool

    @property
    def is_open(self) -> bool:
        return not self.explained and not self.tested


@dataclass(frozen=True)
class Explained:
    """What somebody wrote down of all that went up to a moment, when, and who."""

    what: str
    until: datetime
    at: datetime
    by: str


@dataclass(frozen=True)
class Losses:
    """The losses of one cylinder, in order of time; its number and mark, for whoever has not read it; what was written
    down of them, latest first."""

    cylinder: int
    mark: str
    all: tuple[Lost, ...]
    words: tuple[Explained, ...] = ()

    @property
    def open(self) -> tuple[Lost, ...]:
        return tuple(each for each in self.all if each.is_open)


def losses_told(rows: Sequence[Row], now: datetime) -> Losses | None:
    """What the rows of `loss_rows` come to, of one cylinder; None where they tell of none."""
    about = next((row for row in rows if "stated" in row), None)
    if about is None:
        return None
    read = sorted(
        (
            *(
                (moment(row["at"]), row["gauge"], row["bar"], _beside(row), row["sides"])
                for row in rows
                if "gauge" in row
            ),
            *(
                (moment(row["hour"]) + HOUR / 2, 0, row["bar"], row["celsius"], row["sides"])
                for row in rows
                if "hour" in row and moment(row["hour"]) + HOUR <= now
            ),
        ),
        key=lambda one: one[:2],
    )
    run = [stood(about["litres"], at, bar, celsius, sides_since=sides) for at, _, bar, celsius, sides in read]
    cylinder = Cylinder(water_volume_l=about["litres"], fill_bar=about["fill_bar"], fill_c=about["fill_c"])
    tests = [tightness(cylinder, ends) for row in rows if "begun" in row for ends in [_ends(row)]]
    words = [
        Explained(row["what"], moment(row["until"]), moment(row["at"]), row["by"]) for row in rows if "what" in row
    ]
    until = max((each.until for each in words), default=None)
    found = []
    for each in gas.gas_losses(run, _habit(about, about["stated"])):
        first, last = (Ended(read[place][0], read[place][2]) for place in (each.first, each.last))
        days = max((last.at - first.at).total_seconds(), 900) / 86400
        found.append(
            Lost(
                first=first,
                last=last,
                gone_kg=each.gone_g / 1000,
                used_kg=each.used_g / 1000,
                allowed_kg=each.allowed_g / 1000,
                sides=each.sides,
                explained=until is not None and until >= last.at,
                tested=any(_clears(test, last.at, each.unexplained_g / days) for test in tests),
            )
        )
    words.sort(key=lambda each: each.at, reverse=True)
    return Losses(about["cylinder"], about["mark"], tuple(found), tuple(words))


def _clears(test: Tightness, lost_by: datetime, g_day: float) -> bool:
    """Whether a test after a loss tells that no leak of such a rate is there: a short one may not have found it."""
    return test.ends.begun >= lost_by and not test.is_leak and test.high_g_day < g_day


def _ends(row: Row) -> Ends:
    return Ends(
        row["first_bar"], row["first_c"], row["last_bar"], row["last_c"], moment(row["begun"]), moment(row["ended"])
    )


def _beside(row: Row) -> float | None:
    """The gas's temperature, as `celsius_beside` takes it."""
    if row["beside"] is not None:
        return float(row["beside"])
    around = [(moment(row[f"{side}_at"]), row[f"{side}_c"]) for side in ("before", "after") if row[f"{side}_at"]]
    return nearest_celsius(moment(row["at"]), around)


def losses_of(cylinder: Cylinder) -> Losses:
    """What went from one cylinder and was never explained: one query."""
    now = clock.now()

    def own(relation: str) -> Q:
        return Q(**{relation or "pk": cylinder.pk})

    rows = asked_alone(list(loss_rows(own)), now)
    return losses_told(rows, now) or Losses(cylinder.pk, cylinder.mark, ())
