"""What worries about containers: that one is past the day through which it is used after opening, or soon will be."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import F, QuerySet
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.safety.models import Container
from shop.topic import Row, Topic, moment
from shop.wording import in_full

#: So many days ahead it is told. Our own figure.
AHEAD = timedelta(days=14)


def _rows() -> Iterator[QuerySet[Any]]:
    yield Container.objects.filter(ended_at=None).annotate(
        told=JSONObject(
            pk=F("pk"),
            name=F("substance__name"),
            place=F("place__name"),
            opened=F("opened_at"),
            use_by=F("use_by"),
            days=F("substance__open_limit__days"),
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    today = clock.day_of(now)
    for row in sorted(rows, key=lambda one: int(one["pk"])):
        opened = clock.day_of(moment(row["opened"]))
        if row["use_by"]:
            last, by = date.fromisoformat(row["use_by"]), "its label says"
        elif row["days"]:
            last, by = (
                opened + timedelta(days=row["days"]),
                f"the shop uses it for {row['days']} day{'' if row['days'] == 1 else 's'} after opening",
            )
        else:
            continue
        if last - today <= AHEAD:
            yield _of(row, opened, last, by, is_past=last < today)


def _of(row: Row, opened: date, last: date, by: str, *, is_past: bool) -> Concern:
    return Concern(
        key=f"safety:container:{row['pk']}",
        grade=Grade.CARE if is_past else Grade.NOTE,
        subject=row["place"],
        headline=f"{row['name']}, container {row['pk']}: {'' if is_past else 'soon '}past its last day",
        reason=f"Opened on {in_full(opened)}; its last day {'was' if is_past else 'is'} {in_full(last)}: {by}.",
        what_to_do="Look at it: use it up, or give it to the waste, and say so on its page. Its supplier's data sheet "
        "decides.",
        link=reverse("safety:container", args=[row["pk"]]),
        by=None if is_past else clock.day_bounds(last)[0],
    )


TOPIC = Topic(_rows, _worries)
