"""The record: who changed what and when, line after line, each holding the digest of the one before.

Every action writes its line in its own transaction, so that neither is there without the other. Lines are only ever
added; the database refuses the rest. Whoever gets round that (by SQL, as an administrator of the machine) breaks the
chain: `broken` finds the first line that does not fit. A whole chain written anew fits itself, and is found by a
digest that was noted down elsewhere before.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC
from functools import cache
from itertools import chain
from typing import Any

from django.db import connection, models

from shop import clock
from shop.paging import walk
from shop.prepared import prepared
from shop.press.models import Line, RecordHead

#: What stands in place of a value that is nobody's to read.
HIDDEN = "(kept back)"
#: Parts of names of what is never written down: passwords, codes, secret addresses.
_SECRET = ("password", "secret", "token", "recovery", "personal_code")
#: The longest value that is kept whole; of a longer one its beginning, and how long it was.
_LONGEST = 300
#: What the first line holds in place of the digest of a line before it.
BEGINNING = "0" * 64


def is_secret(name: str) -> bool:
    """Whether values of that name are kept back."""
    return any(part in name for part in _SECRET)


def named(row: models.Model) -> str:
    """A row by its kind, number and name, as they are now."""
    return f"{row._meta.verbose_name} {row.pk}: {row}"[:_LONGEST]


def plain(value: Any) -> Any:
    """A value as the record keeps it: JSON, rows by their kind, number and name, long texts by their beginning."""
    if value is None or isinstance(value, bool | int | float):
        return value
    if isinstance(value, models.Model):
        return named(value)
    if hasattr(value, "__dataclass_fields__"):
        return {name: kept(name, getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, Mapping):
        return {str(plain(name)): kept(str(name), inner) for name, inner in value.items()}
    if isinstance(value, bytes):
        return f"{len(value)} bytes"
    if isinstance(value, set | frozenset):
        return sorted((plain(inner) for inner in value), key=str)
    if isinstance(value, list | tuple | models.QuerySet):
        return [plain(inner) for inner in value]
    said = str(value)
    return said if len(said) <= _LONGEST else f"{said[:_LONGEST]}… ({len(said)} characters)"


def kept(name: str, value: Any) -> Any:
    """`plain` of a value, unless its name says that it is kept back."""
    return HIDDEN if is_secret(name) and value else plain(value)


def columns(row: models.Model) -> dict[str, Any]:
    """What a row holds now, by column, as the record keeps it; empty if it is not there any more."""
    question, names, converters = _question_of(row._meta.model)
    with connection.cursor() as cursor:
        cursor.execute(question, [row._meta.pk.get_db_prep_value(row.pk, connection)])
        found = cursor.fetchone()
    if found is None:
        return {}
    values = []
    for value, (column, ways) in zip(found, converters, strict=True):
        for convert in ways:
            value = convert(value, column, connection)
        values.append(value)
    return {name: kept(name, value) for name, value in zip(names, values, strict=True)}


@cache
def _question_of(model: type[models.Model]) -> tuple[str, list[str], list[tuple[Any, list[Any]]]]:
    """SQL for one row of a table, its columns' names, and what makes Python's values of the database's.

    Django would work this out anew at every asking, which took longer than the asking.
    """
    fields = model._meta.concrete_fields
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    expressions = [field.get_col(model._meta.db_table) for field in fields]
    converters = [
        (one, [*connection.ops.get_db_converters(one), *one.get_db_converters(connection)]) for one in expressions
    ]
    key = quote(str(model._meta.pk.column))
    question = f"SELECT {columns} FROM {quote(model._meta.db_table)} WHERE {key} = %s"
    return question, [field.attname for field in fields], converters


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, list[Any]]:
    """What differs, by column: what it was, and what it is."""
    return {
        name: [before.get(name), after.get(name)]
        for name in {**before, **after}
        if name != "version" and before.get(name) != after.get(name)
    }


def digest_of(line: Line) -> str:
    """SHA-256, in hex, of all that a line says, with its number and the digest before it."""
    at = line.at.astimezone(UTC).isoformat()
    says = [line.number, at, line.by_id, line.who, line.act, line.kind, line.ref, line.thing, line.said, line.before]
    return hashlib.sha256(json.dumps(says).encode()).hexdigest()


def write(
    *, by: Any, act: str, thing: models.Model | None = None, said: Mapping[str, Any], changed: Mapping[str, Any]
) -> Line:
    """Add the line of something that was done. Inside its transaction, and last in it: others wait from here on.

    by: who did it, None for the program itself or where nobody signed; act: "stock.take_stock"; thing: the row it made
    or changed; said: what was given; changed: what differs by it, by the row's name.
    """
    head = (
        _head_held.first()
        or RecordHead.objects.select_for_update().get_or_create(pk=1, defaults={"number": 0, "digest": BEGINNING})[0]
    )
    line = Line(
        number=head.number + 1,
        at=clock.now(),
        by=by,
        who=by.name if by is not None else "",
        act=act,
        kind=thing._meta.label_lower if thing is not None else "",
        ref=str(thing.pk) if thing is not None else "",
        thing=named(thing) if thing is not None else "",
        said=json.dumps({"given": said, "changed": changed}, ensure_ascii=False),
        before=head.digest,
    )
    line.digest = digest_of(line)
    line.save(force_insert=True)
    head.number, head.digest = line.number, line.digest
    head.save(update_fields=["number", "digest"])
    return line


@prepared
def _head_held() -> models.QuerySet[RecordHead]:
    return RecordHead.objects.select_for_update().filter(pk=1)


@dataclass(frozen=True)
class Break:
    """Where the chain does not hold: the number of the line, and what is wrong with it."""

    number: int
    sentence: str


def _breaks() -> Iterator[Break]:
    number, before = 1, BEGINNING
    for line in chain.from_iterable(walk(Line.objects.all(), by=("number",))):
        if line.number != number:
            yield Break(number, f"line {number} is missing")
            return
        if line.before != before:
            yield Break(number, f"line {number} does not follow from the line before it")
        elif digest_of(line) != line.digest:
            yield Break(number, f"line {number} does not say what it said when it was written")
        number, before = line.number + 1, line.digest
    head = RecordHead.objects.filter(pk=1).first()
    if head is not None and head.number >= number:
        yield Break(number, f"it ends at line {number - 1}, and went on to line {head.number} before")


def broken() -> Break | None:
    """The first place where the chain does not hold; None if it holds. Reads every line, in batches."""
    return next(_breaks(), None)
