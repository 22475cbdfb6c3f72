"""Topics of worry that are read together: today's page has one query for the topics of all apps.

A topic says which rows it needs, as JSON, and what it makes of them. An app registers its topics in place of a question
of its own. The query is put together once and asked again with the day it is: putting it together takes several times
as long as the database takes to answer it.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache, partial
from typing import Any

from dateutil.relativedelta import relativedelta
from django.core.exceptions import EmptyResultSet
from django.db import DatabaseError, connection
from django.db.models import DateField, DateTimeField, IntegerField, QuerySet, Value

from shop import clock, concern
from shop.concern import Concern
from shop.prepared import Given, bound
from shop.recall import recalled

#: One row as a topic asked for it: a dictionary, dates and moments in it as ISO text.
Row = dict[str, Any]


def day_it_is(later: timedelta | relativedelta = timedelta()) -> Given:
    """For the rows of a topic: the day it is, or one so much later."""
    return Given("day", DateField(), lambda day: day + later)


def midnight(days: int = 0) -> Given:
    """For the rows of a topic: the first moment of the day it is, or of one so many days later."""
    return Given("day", DateTimeField(), lambda day: clock.day_bounds(day + timedelta(days=days))[0])


@dataclass(frozen=True)
class Topic:
    """rows: querysets that each annotate `told=JSONObject(...)`, of as few rows as can worry anybody on the day it is.
    They are put together once: they name that day by `day_it_is` and `midnight`, and look at nothing else that changes.

    worries: what those rows come to at that moment. They are told apart by what stands in them, and come in no order.
    """

    rows: Callable[[], Iterable[QuerySet[Any]]]
    worries: Callable[[list[Row], datetime], Iterator[Concern]]


_registered: dict[str, tuple[Topic, ...]] = {}


def register(app: str, topics: Sequence[Topic]) -> None:
    """Let these be what the app worries about. Registering an app again replaces it."""
    _registered[app] = tuple(topics)
    concern.register(app, partial(_worries_of, app))


def together(topics: Sequence[Topic], now: datetime) -> list[Concern]:
    """What these worry about, by one query."""
    return _made_of(topics, _asked_of(tuple(topics), now), now)


def _made_of(topics: Sequence[Topic], rows: Sequence[list[Row]], now: datetime) -> list[Concern]:
    return [one for topic, told in zip(topics, rows, strict=True) for one in topic.worries(told, now)]


@dataclass(frozen=True)
class _Statement:
    """SQL that tells rows of (place of who asked, JSON), with its parameters."""

    sql: str
    params: tuple[Any, ...]


def _statement(asked: Sequence[Iterable[QuerySet[Any]]], first: int = 0) -> _Statement | None:
    """What each of these asks for as one statement, the places counted from `first`; None where all are sure to find
    nothing."""
    questions = [
        rows.order_by().annotate(topic=Value(place, IntegerField())).values_list("topic", "told")
        for place, those in enumerate(asked, first)
        for rows in those
    ]
    if not questions:
        return None
    try:
        sql, params = questions[0].union(*questions[1:], all=True).query.sql_with_params()
    except EmptyResultSet:
        return None
    return _Statement(sql, tuple(params))


@lru_cache(maxsize=8)
def _kept(topics: tuple[Topic, ...], vendor: str) -> _Statement | None:
    """The statement of these topics, put together once for that kind of database."""
    return _statement([tuple(topic.rows()) for topic in topics])


def _asked_of(
    topics: tuple[Topic, ...], now: datetime, others: Sequence[Iterable[QuerySet[Any]]] = ()
) -> list[list[Row]]:
    """The rows of each topic, and of each of the others, all by one query."""
    both = (_kept(topics, connection.vendor), _statement(others, len(topics)))
    parts = [part for part in both if part is not None]
    told: list[list[Row]] = [[] for _ in (*topics, *others)]
    if parts:
        sql, given = " UNION ALL ".join(part.sql for part in parts), {"day": clock.day_of(now)}
        with connection.cursor() as cursor:
            cursor.execute(sql, [param for part in parts for param in bound(part.params, given)])
            for place, row in cursor.fetchall():
                told[place].append(json.loads(row))
    return told


def asked_alone(rows: Sequence[QuerySet[Any]], now: datetime) -> list[Row]:
    """What these come to as the rows of a topic do, by one query of their own: for a page about the same thing."""
    return _asked_of((), now, [rows])[0]


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
        return self.came if self.came is not None else _asked_of((), now, [(rows,) for rows in self.asked])


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
    every = tuple(topic for topics in _registered.values() for topic in topics)
    rows = iter(_asked_of(every, now, [(one,) for one in others.asked] if others is not None else ()))
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


def moment(told: str | datetime) -> datetime:
    """A moment as the database tells it, in JSON or to a statement of ours: SQLite does in UTC without saying so, and
    of what it reckoned as text."""
    read = datetime.fromisoformat(told) if isinstance(told, str) else told
    return read if read.tzinfo else read.replace(tzinfo=UTC)
