"""That the test of a cylinder has run out: it may be used up, but is not to be filled again."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from django.db.models import F, QuerySet
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.calc.gas import requalify_by
from shop.concern import Concern, Grade
from shop.room.models import Cylinder
from shop.topic import Row, Topic, day_it_is
from shop.wording import in_full


def _rows() -> Iterator[QuerySet[Any]]:
    yield (
        Cylinder.objects.filter(
            returned_on=None, tested_on__isnull=False, test_years__isnull=False, tested_on__lt=day_it_is()
        ).annotate(
            told=JSONObject(
                cylinder=F("pk"), mark=F("mark"), owner=F("owner"), tested=F("tested_on"), years=F("test_years")
            )
        )
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    for row in rows:
        due = requalify_by(date.fromisoformat(row["tested"]), row["years"])
        if due > clock.day_of(now):
            continue
        yield Concern(
            key=f"room:gas:test:{row['cylinder']}",
            grade=Grade.NOTE,
            subject="Nitrogen",
            headline=f"The test of cylinder {row['mark']} has run out",
            reason=(
                f"Last tested in {date.fromisoformat(row['tested']):%B %Y}, due since {in_full(due)}. As the rules are "
                "remembered here, such a cylinder may be used up but not filled again before it is tested."
            ),
            what_to_do=f"Ask {row['owner'] or 'the supplier'} before it is next filled; local rules decide.",
            link=reverse("room:cylinder", args=[row["cylinder"]]),
        )


TOPIC = Topic(rows=_rows, worries=_worries)
