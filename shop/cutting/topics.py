"""What cutting worries about that needs few rows: masters that wait for plating, styli that are late to come back.

Read with all other topics by one query (see shop.topic).
"""

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Count, Exists, F, Min, Subquery
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.cutting.models import WAITING, Away, CuttingLimits, Master
from shop.topic import Row, Topic, day_it_is, moment
from shop.wording import in_full

#: From how many times the shop's own limit on a master that waits calls for care. Our own.
CARE_AT = 2


def _masters(rows: list[Row], now: datetime) -> Iterator[Concern]:
    """The masters that wait: a note once the oldest is past the shop's own limit, care at twice that."""
    for row in rows:
        limit, count = row["limit"] if row["is_set"] else CuttingLimits().plating_days, row["count"]
        oldest = moment(row["oldest"])
        days = (clock.day_of(now) - clock.day_of(oldest)).days
        if limit is None or days <= limit:
            continue
        waiting = "1 master waits" if count == 1 else f"{count} masters wait"
        yield Concern(
            key="cutting:plating",
            grade=Grade.CARE if days >= CARE_AT * limit else Grade.NOTE,
            subject="Plating",
            headline=f"A master has waited {days} days for plating",
            reason=(
                f"{waiting}; the oldest was cut on {in_full(clock.day_of(oldest))}. The shop's own limit is "
                f"{limit} day{'' if limit == 1 else 's'}."
            ),
            what_to_do="Send it, or say why it is kept back.",
            link=reverse("cutting:plating"),
        )


def _away(rows: list[Row], now: datetime) -> Iterator[Concern]:
    """A stylus that was due back from re-lapping: a note."""
    for row in rows:
        yield Concern(
            key=f"cutting:away:{row['away']}",
            grade=Grade.NOTE,
            subject=row["mark"],
            headline=f"{row['mark']} was due back from re-lapping",
            reason=f"It went to {row['to']}, and was due on {in_full(datetime.fromisoformat(row['due']).date())}.",
            what_to_do="Ask after it, or say what came back.",
            link=reverse("cutting:stylus", args=[row["stylus"]]),
        )


TOPICS = (
    Topic(
        rows=lambda: [
            Master.objects.filter(WAITING)
            .values("parcel_id")
            .annotate(
                told=JSONObject(
                    oldest=Min("side__at"),
                    count=Count("pk"),
                    limit=Subquery(CuttingLimits.objects.filter(pk=1).values("plating_days")[:1]),
                    is_set=Exists(CuttingLimits.objects.filter(pk=1)),
                )
            )
        ],
        worries=_masters,
    ),
    Topic(
        rows=lambda: [
            Away.objects.filter(back_at__isnull=True, back_due__lt=day_it_is()).annotate(
                told=JSONObject(
                    away=F("pk"), stylus=F("stylus_id"), mark=F("stylus__mark"), to=F("sent_to"), due=F("back_due")
                )
            )
        ],
        worries=_away,
    ),
)
