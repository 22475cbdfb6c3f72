"""What chip worries about after the trap: emptied and not stored, a can that is full or has stood too long."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from django.db.models import F, Max, Min, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce, JSONObject
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.duties.models import Tick
from shop.room.models import ChipCan, ChipStored, can_named
from shop.room.queries.chip import CHIP, NEARLY, Grams
from shop.room.wording import moment_words
from shop.topic import Row, Topic, moment

#: Emptied chip that is not down as stored weighs care from then on: our own choice.
SOON = timedelta(hours=12)
#: A can's last day is told so long ahead: our own choice.
AHEAD = 7


def _rows() -> Iterator[QuerySet[Any]]:
    """The cans that are here, each with its fill; and the first of them once more with what waits to be stored."""
    here = ChipCan.objects.filter(handed_at=None)
    mg = ChipStored.objects.filter(can=OuterRef("pk")).order_by().values("can").annotate(sum=Sum("mg")).values("sum")
    yield here.annotate(
        told=JSONObject(
            can=F("pk"),
            mark=F("mark"),
            mg=Coalesce(Subquery(mg), 0),
            limit_g=F("limit_g"),
            limit_days=F("limit_days"),
            started=F("started_at"),
        )
    )
    last = ChipStored.objects.filter(undoes=None, undone_by=None).order_by("-at", "-id").values("at")[:1]
    first_start = ChipCan.objects.filter(handed_at=None).order_by("started_at").values("started_at")[:1]
    emptied = (
        Tick.objects.filter(meter__key=CHIP, is_reset=True, undone_by=None, amount__lt=0)
        .filter(at__gt=Coalesce(Subquery(last), Subquery(first_start)))
        .order_by()
        .values("meter")
        .annotate(waits=Sum("amount"), since=Min("at"), until=Max("at"))
    )
    yield emptied.annotate(told=JSONObject(waits=F("waits"), since=F("since")))


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    for row in rows:
        if "waits" in row:
            yield _waits(row, now)
        else:
            yield from _can(row, now)


def _waits(row: Row, now: datetime) -> Concern:
    since = moment(row["since"])
    return Concern(
        key="room:chip:to-store",
        grade=Grade.CARE if now - since > SOON else Grade.NOTE,
        subject="Chip",
        headline="Chip was emptied and is not down as wetted and stored",
        reason=f"{Grams(-row['waits']).words}, emptied since {moment_words(since)}. Dry chip burns at a spark.",
        what_to_do="See that it is wetted through and in its can, then write it down.",
        link=reverse("room:store-chip"),
    )


def _can(row: Row, now: datetime) -> Iterator[Concern]:
    link = reverse("room:hand-over-chip", args=[row["can"]])
    holds = Grams(row["mg"])
    if row["limit_g"] and holds.g >= NEARLY * row["limit_g"]:
        full = holds.g >= row["limit_g"]
        yield Concern(
            key=f"room:chip:can-full:{row['can']}",
            grade=Grade.CARE if full else Grade.NOTE,
            subject="Chip",
            headline=f"{can_named(row['mark'])} is {'full' if full else 'nearly full'}",
            reason=f"It holds {holds.words}; the shop's own limit is {row['limit_g']} g.",
            what_to_do="Have it taken away, and start another can. Keep it wetted until then.",
            link=link,
        )
    if row["limit_days"]:
        last = clock.day_of(moment(row["started"])) + timedelta(days=row["limit_days"])
        left = (last - clock.day_of(now)).days
        if left <= AHEAD:
            yield Concern(
                key=f"room:chip:can-days:{row['can']}",
                grade=Grade.CARE if left < 0 else Grade.NOTE,
                subject="Chip",
                headline=f"{can_named(row['mark'])} "
                + ("has stood here too long" if left < 0 else f"is to be gone by {last.day} {last:%B}"),
                reason=f"In use since {clock.day_of(moment(row['started'])):%-d %B %Y}; the shop keeps a can "
                f"{row['limit_days']} day{'' if row['limit_days'] == 1 else 's'} at most.",
                what_to_do="Have it taken away by whoever takes such waste here; they say how it is declared.",
                link=link,
            )


TOPIC = Topic(rows=_rows, worries=_worries)
