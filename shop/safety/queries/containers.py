"""Opened containers, and how fast each is used."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from shop import clock
from shop.calc.containers import MOST_DAYS, Pace, lasts_days, pace
from shop.calc.drift import Estimate
from shop.safety.models import Container, Level, OpenLimit, Place, Property, PropertyKind, Substance
from shop.stock.models import Lot, StockUnit
from shop.stock.queries import usable_lots

#: So many levels of a container its pace is reckoned from, the latest.
MOST_LEVELS = 60
#: The temperature that a density is taken at where several are known, as its condition says it.
_AT = "20"


def containers() -> QuerySet[Container]:
    """All of them, with what their lines show."""
    return Container.objects.select_related(
        "substance__open_limit", "place__within__within", "lot__item", "opened_by", "ended_by"
    )


def open_containers() -> QuerySet[Container]:
    """Those that are open, the one that has been open longest first."""
    return containers().filter(ended_at=None).order_by("opened_at", "pk")


def ended_containers() -> QuerySet[Container]:
    return containers().filter(ended_at__isnull=False)


def levels_of(container: Container) -> QuerySet[Level]:
    return Level.objects.filter(container=container).select_related("by")


def density_of(substance: Substance) -> Property | None:
    """The density that weights of it are read by: at 20 °C where that is known, else the first written down. None
    where there is none that somebody looked up."""
    known = Property.objects.filter(substance=substance, kind=PropertyKind.DENSITY, from_memory=False, high=None)
    found = list(known.order_by("pk"))
    return next((one for one in found if one.condition.startswith(_AT)), found[0] if found else None)


def lots_to_open() -> list[Lot]:
    """Lots of liquids that are a substance's, usable today, in the order to take them."""
    lots = usable_lots(day=clock.today()).filter(item__unit=StockUnit.ML, item__substances__is_active=True)
    return list(lots.distinct())


def open_limit_of(substance: Substance) -> OpenLimit | None:
    return OpenLimit.objects.filter(substance=substance).first()


@dataclass(frozen=True)
class Use:
    """How fast a container is used, and until when it will last. pace: None where too little was read.

    soonest, about, latest: days of the calendar; None where no end can be told.
    """

    pace: Pace | None
    readings: int
    soonest: date | None = None
    about: date | None = None
    latest: date | None = None

    @property
    def a_week(self) -> Estimate | None:
        """ml in a week, with its interval."""
        return Estimate(*(7 * each for each in self.pace.a_day)) if self.pace else None


def use_of(container: Container, levels: Sequence[Level], now: datetime) -> Use:
    """How fast it is used, from its opening and its levels, in whatever order they come. No query."""
    ordered = sorted(levels, key=lambda one: (one.at, one.pk))
    points = [(0.0, float(container.nominal_ml))]
    points += [((one.at - container.opened_at) / timedelta(days=1), float(one.ml)) for one in ordered]
    found = pace(points, rise_ml=max(1.0, 0.03 * container.nominal_ml))
    if found is None:
        return Use(None, len(ordered))
    last = ordered[-1].at if ordered else container.opened_at
    soonest, about, latest = lasts_days(container.left_ml, found)

    def on(days: float | None) -> date | None:
        return None if days is None or days >= MOST_DAYS else clock.day_of(last + timedelta(days=days))

    return Use(found, len(ordered), on(soonest), on(about), on(latest))


def room_of(container: Container) -> Place | None:
    """The nearest place around it whose free volume is written down; looked for three places out."""
    place: Place | None = container.place
    for _ in range(3):
        if place is None or place.volume_l:
            break
        place = place.within
    return place if place is not None and place.volume_l else None


def is_over(container: Container, day: date) -> bool:
    """Whether its last day has gone by."""
    return container.last_day is not None and container.last_day < day
