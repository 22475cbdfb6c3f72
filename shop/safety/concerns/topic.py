"""How a topic of safety says what worries it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db.models import QuerySet

from shop.concern import Concern

#: One row as a topic asked for it: a dictionary, dates and moments in it as ISO text.
Row = dict[str, Any]


@dataclass(frozen=True)
class Topic:
    """rows: querysets that each annotate `told=JSONObject(...)`, of as few rows as can worry anybody.

    worries: what those rows come to. They are told apart by what stands in them, and come in no order.
    """

    rows: Callable[[datetime], Iterable[QuerySet[Any]]]
    worries: Callable[[list[Row], datetime], Iterator[Concern]]


def moment(told: str) -> datetime:
    """A moment in a row: SQLite tells it in UTC, without saying so."""
    read = datetime.fromisoformat(told)
    return read if read.tzinfo else read.replace(tzinfo=UTC)
