"""Whom to call is not written down."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from django.db.models import Exists, QuerySet
from django.db.models.functions import JSONObject
from django.urls import reverse

from shop.concern import Concern, Grade
from shop.people.models import Room
from shop.safety.models import CallNumber, Substance
from shop.topic import Row, Topic


def _rows() -> Iterable[QuerySet[Any]]:
    """The room, while something hazardous is kept in it and no number at all."""
    kept = Exists(Substance.objects.filter(is_active=True))
    yield Room.objects.filter(kept, ~Exists(CallNumber.objects.all()), pk=1).annotate(told=JSONObject(room="pk"))


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    if rows:
        yield Concern(
            key="safety:no-numbers",
            grade=Grade.NOTE,
            subject="On the wall",
            headline="Nobody wrote down whom to call",
            reason="No number is kept. The hazard sheets and the wall card leave it blank.",
            what_to_do="Write down the numbers that are dialled here, the fire service first.",
            link=reverse("safety:keep-call-numbers"),
        )


TOPIC = Topic(_rows, _worries)
