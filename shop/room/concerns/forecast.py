"""That a cylinder has to be ordered, from the outlook as it was last worked out."""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, F, QuerySet, Subquery
from django.db.models.functions import JSONObject
from django.urls import reverse
from django.utils import timezone

from shop import clock
from shop.concern import Concern, Grade
from shop.room.models import Cylinder, GasForecast
from shop.topic import Row, Topic, day_it_is, midnight, moment
from shop.wording import in_full

#: It is told so many days before the last day to order: our own choice.
AHEAD = timedelta(days=3)
#: An outlook older than that says nothing any more: the job that makes it does not run.
_STALE = timedelta(days=2)


def _rows() -> Iterator[QuerySet[Any]]:
    """The outlook while it is fresh, its cylinder is connected still, and as many spares stand ready as it counted."""
    spares = (
        Cylinder.objects.filter(connected_at=None, empty_at=None, returned_on=None)
        .order_by()
        .values("returned_on")
        .annotate(many=Count("pk"))
        .values("many")
    )
    yield (
        GasForecast.objects.filter(
            worked_at__gte=midnight(days=-_STALE.days),
            order_by__lte=day_it_is(AHEAD),
            cylinder__connected_at__isnull=False,
            cylinder__empty_at=None,
        ).annotate(
            told=JSONObject(
                cylinder=F("cylinder_id"),
                mark=F("cylinder__mark"),
                order_by=F("order_by"),
                likely=F("change_likely"),
                spares=F("spares"),
                spares_now=Subquery(spares),
                worked=F("worked_at"),
            )
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    today = clock.day_of(now)
    for row in rows:
        if moment(row["worked"]) < now - _STALE:
            continue
        if (row["spares_now"] or 0) > row["spares"]:  # one came since it was worked out
            continue
        last = date.fromisoformat(row["order_by"])
        late = last < today
        spares, likely = row["spares"], ""
        if row["likely"]:
            gone = in_full(date.fromisoformat(row["likely"]))
            likely = f" Cylinder {row['mark']} by itself is likely used up on {gone}."
        behind = f"{spares} spare{'' if spares == 1 else 's'} counted" if spares else "no spare stands behind it"
        yield Concern(
            key=f"room:gas:order:{row['cylinder']}:{spares}",
            grade=Grade.CARE if late else Grade.NOTE,
            subject="Nitrogen",
            headline=f"Order a cylinder by {in_full(last)}" if not late else "A cylinder should have been ordered",
            reason=(
                f"By the pace of the gauge and what is booked, with {behind}, the last day to order is {in_full(last)}."
                f"{likely}"
            ),
            what_to_do="Order one, and add it here when it is delivered.",
            link=reverse("room:cylinders"),
            by=timezone.make_aware(datetime.combine(last, time(23, 59))),
        )


TOPIC = Topic(rows=_rows, worries=_worries)
