"""Topics of worry that are read together: today's page has one query for the topics of all apps.

A topic says which rows it needs, as JSON, and what it makes of them. An app registers its topics in place of a question
of its own.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from typing import Any

from django.db import DatabaseError
from django.db.models import IntegerField, QuerySet, Value

from shop import concern
from shop.concern import Concern
from shop.recall import recalled

#: One row as a topic asked for it: a dictionary, dates and moments in it as ISO text.
Row = dict[str, Any]


@dataclass(frozen=True)
class Topic:
    """rows: querysets that each annotate `told=JSONObject(...)`, of as few rows as can worry anybody.

    worries: what those rows come to. They are told apart by what stands in them, and come in no order.
    """

    rows: Callable[[datetime], Iterable[QuerySet[Any]]]
    worries: Callable[[list[Row], datetime], Iterator[Concern]]


_registered: dict[str, tuple[Topic, ...]] = {}


def register(app: str, topics: Sequence[Topic]) -> None:
    """Let these be what the app worries about. Registering an app again replaces it."""
    _registered[app] = tuple(topics)
    concern.register(app, partial(_worries_of, app))


def together(topics: Sequence[Topic], now: datetime) -> list[Concern]:
    """What these worry about, by one query."""
    return _made_of(topics, _read(topics, now), now)


def _made_of(topics: Sequence[Topic], rows: Sequence[list[Row]], now: datetime) -> list[Concern]:
    return [one for topic, told in zip(topics, rows, strict=True) for one in topic.worries(told, now)]


def _read(topics: Sequence[Topic], now: datetime) -> list[list[Row]]:
    """The rows of each topic, all by one query."""
    return _together([tuple(topic.rows(now)) for topic in topics])


def _together(asked: Sequence[Iterable[QuerySet[Any]]]) -> list[list[Row]]:
    """What each of these asks for, all by one query."""
    questions = [
        rows.order_by().annotate(topic=Value(place, IntegerField())).values_list("topic", "told")
        for place, those in enumerate(asked)
        for rows in those
    ]
    told: list[list[Row]] = [[] for _ in asked]
    for place, row in questions[0].union(*questions[1:], all=True) if questions else ():
        told[place].append(row)
    return told


class Along:
    """Rows that nobody worries about, read by the query of the topics: see `along`."""

    def __init__(self, asked: Sequence[QuerySet[Any]]) -> None:
        self.asked = asked
        self.came: list[list[Row]] | None = None

    def rows(self, now: datetime) -> list[list[Row]]:
        """What each of the querysets asked for, in their order."""
        if not self.asked:
            return []
        try:
            _of_all(now)
        except DatabaseError:
            self.came = None
        return self.came if self.came is not None else _together([(rows,) for rows in self.asked])


_along: ContextVar[Along | None] = ContextVar("along", default=None)


@contextmanager
def along(asked: Sequence[QuerySet[Any]]) -> Iterator[Along]:
    """Within the block, let these be read by the one query that reads all topics. Each annotates `told`, as those."""
    with_them = Along(asked)
    token = _along.set(with_them)
    try:
        yield with_them
    finally:
        _along.reset(token)


@recalled
def _of_all(now: datetime) -> dict[str, list[list[Row]]]:
    """The rows of all apps' topics, by app; and what was asked along with them."""
    others = _along.get()
    every = [tuple(topic.rows(now)) for topics in _registered.values() for topic in topics]
    rows = iter(_together([*every, *([(one,) for one in others.asked] if others is not None else [])]))
    found = {app: [next(rows) for _ in topics] for app, topics in _registered.items()}
    if others is not None:
        others.came = list(rows)
    return found


def _worries_of(app: str, now: datetime) -> list[Concern]:
    topics = _registered[app]
    try:
        rows = _of_all(now)[app]
    except DatabaseError:  # another app's question is at fault: ask this one's alone
        return together(topics, now)
    return _made_of(topics, rows, now)


def moment(told: str) -> datetime:
    """A moment in a row: SQLite tells it in UTC, without saying so."""
    read = datetime.fromisoformat(told)
    return read if read.tzinfo else read.replace(tzinfo=UTC)
