"""Authorities that run out soon, or ran out lately."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.topic import Row, Topic, day_it_is
from shop.training.models import Authority
from shop.training.queries import AHEAD
from shop.wording import in_full

#: For so long somebody is told that it ran out: after that they are taken to know.
_LATELY = timedelta(days=31)


def _rows() -> Iterable[QuerySet[Any]]:
    """The last of each person's authorities for each act, where it ends within a month either way."""
    longer = Authority.objects.filter(
        Q(until__isnull=True) | Q(until__gt=OuterRef("until")),
        act=OuterRef("act"),
        person=OuterRef("person"),
        withdrawn__isnull=True,
    )
    yield (
        Authority.objects.filter(
            ~Exists(longer),
            until__range=(day_it_is(-_LATELY), day_it_is(AHEAD)),
            withdrawn__isnull=True,
            act__is_active=True,
            person__is_active=True,
        ).values(told=JSONObject(act=F("act__slug"), name=F("act__name"), person=F("person__name"), until=F("until")))
    )


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    """One concern an act, a note: who may do it alone no more, or not much longer."""
    today = clock.day_of(now)
    by_act: dict[tuple[str, str], list[tuple[date, str]]] = defaultdict(list)
    for row in rows:
        by_act[row["act"], row["name"]].append((date.fromisoformat(row["until"]), row["person"]))
    for (slug, name), lapses in sorted(by_act.items()):
        said = "; ".join(
            f"{person}: {'ran out' if until < today else 'runs out'} on {in_full(until)}"
            for until, person in sorted(lapses)
        )
        over = any(until < today for until, _ in lapses)
        yield Concern(
            key=f"training:lapse:{slug}",
            grade=Grade.NOTE,
            subject="Authority",
            headline=f"{name}: an authority {'ran out' if over else 'runs out soon'}",
            reason=f"{said}.",
            what_to_do="Have it shown again and give it anew; without it, it is done under another's eye.",
            link=reverse("training:act", args=[slug]),
        )


LAPSES = Topic(_rows, _worries)
