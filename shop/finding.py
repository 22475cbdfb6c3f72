"""Finding rows by what a code begins with, however it is capitalised, by an index and not by reading the table.

A model that is searched so has `Index(Folded("code"), ...)`. SQLite folds the letters of ASCII only; so does its LIKE.
"""

from typing import Any

from django.db.models import F, QuerySet, Value
from django.db.models.functions import Upper
from django.db.models.lookups import GreaterThanOrEqual, LessThan

#: Sorts after whatever a code may go on with.
_LAST = "\U0010ffff"


class Folded(Upper):
    """A text as codes are compared: in capitals, and by plain bytes, for in a language's order a prefix is no range."""

    function = "UPPER"

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        return self.as_sql(compiler, connection, template='UPPER(%(expressions)s) COLLATE "C"', **context)


def begins(rows: QuerySet[Any], field: str, text: str) -> QuerySet[Any]:
    """The rows whose `field` begins with `text`, an exact match first, then by that field."""
    code = Folded(F(field))
    within = rows.filter(
        GreaterThanOrEqual(code, Folded(Value(text))), LessThan(Folded(F(field)), Folded(Value(text + _LAST)))
    )
    return within.order_by(Folded(F(field)), "pk")
