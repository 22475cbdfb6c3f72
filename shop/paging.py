"""Leafing through a long list, latest first, without counting it.

A page is found by the line it starts after, not by how many lines come before it, so that the ten-thousandth page is
as quick as the first; and there is no COUNT(*), which reads the whole table.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, Generic, TypeVar

from django.db.models import Model, Q, QuerySet

Row = TypeVar("Row", bound=Model)

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_OLDER, _NEWER = "o", "n"

#: The part of an address that says where a page of a list begins; templates/parts/turn.html writes it.
FROM = "from"


@dataclass(frozen=True)
class Leaf(Generic[Row]):
    """One page of a list: its rows, latest first, and the marks of the pages on either side ("" where none is)."""

    rows: list[Row]
    newer: str = ""
    older: str = ""
    is_first: bool = True


def leaf(
    rows: QuerySet[Row], query: Mapping[str, str], *, by: tuple[str, ...] = ("at", "id"), size: int = 50
) -> Leaf[Row]:
    """The page of `rows` that the address's `query` asks for with its mark at FROM; the first where none is ours.

    by: the fields that order the list, all descending, the last one unique: moments (named `..at`), days (`.._on`) or
    integers. On a list that grows long they must be the columns of an index. size: rows a page.
    """
    way, key = _read(query.get(FROM, ""), by)
    if way == _NEWER:
        found = list(rows.filter(_beyond(by, key, "gt")).order_by(*by)[: size + 1])
        more, shown = len(found) > size, found[:size][::-1]
        if not shown:
            return leaf(rows, {}, by=by, size=size)
        return Leaf(
            shown,
            newer=_mark(_NEWER, shown[0], by) if more else "",
            older=_mark(_OLDER, shown[-1], by),
            is_first=not more,
        )
    after = rows.filter(_beyond(by, key, "lt")) if key else rows
    found = list(after.order_by(*[f"-{name}" for name in by])[: size + 1])
    more, shown = len(found) > size, found[:size]
    if key and not shown:
        return leaf(rows, {}, by=by, size=size)
    return Leaf(
        shown,
        newer=_mark(_NEWER, shown[0], by) if key else "",
        older=_mark(_OLDER, shown[-1], by) if more else "",
        is_first=not key,
    )


def walk(rows: QuerySet[Row], *, by: tuple[str, ...], size: int = 1000) -> Iterator[list[Row]]:
    """All rows, ascending by `by` (the last one unique), `size` at a time, each batch by a query of its own.

    However long it takes to get through them, no read stays open meanwhile, and no more than one batch is held.
    """
    ordered = rows.order_by(*by)
    batch = list(ordered[:size])
    while batch:
        yield batch
        if len(batch) < size:
            return
        batch = list(ordered.filter(_beyond(by, [getattr(batch[-1], name) for name in by], "gt"))[:size])


def _beyond(by: tuple[str, ...], key: list[Any], way: str) -> Q:
    """Rows whose `by` comes after `key` in the order of tuples; the first comparison alone bounds the index."""
    name, value = by[0], key[0]
    if len(by) == 1:
        return Q(**{f"{name}__{way}": value})
    return Q(**{f"{name}__{way}e": value}) & (Q(**{f"{name}__{way}": value}) | _beyond(by[1:], key[1:], way))


def _mark(way: str, row: Model, by: tuple[str, ...]) -> str:
    return way + "-".join(str(_number(getattr(row, name))) for name in by)


def _number(value: datetime | date | int) -> int:
    if isinstance(value, datetime):
        return (value - _EPOCH) // timedelta(microseconds=1)
    return value.toordinal() if isinstance(value, date) else value


def _value(name: str, number: int) -> datetime | date | int:
    """Undoes _number for a field of that name."""
    if name.endswith("at"):
        return _EPOCH + timedelta(microseconds=number)
    return date.fromordinal(number) if name.endswith("_on") else number


def _read(mark: str, by: tuple[str, ...]) -> tuple[str, list[Any]]:
    """The way and key of a mark; ("", []) for one that isn't ours."""
    parts = mark[1:].split("-")
    if mark[:1] not in (_OLDER, _NEWER) or len(parts) != len(by):
        return "", []
    if not all(part.isascii() and part.isdigit() and len(part) < 19 for part in parts):
        return "", []
    try:
        key = [_value(name, int(part)) for name, part in zip(by, parts, strict=True)]
    except (OverflowError, ValueError):
        return "", []
    return mark[0], key
