"""The row that a table of the shop's own figures has at most: read by itself, or along with other rows. Today's page
needs many such rows, and one query each would be most of its queries."""

from functools import cache
from typing import Any, TypeVar

from django.db.models import Func, JSONField, Model, QuerySet, Subquery
from django.db.models.functions import JSONObject

from shop.prepared import Prepared, prepared

Row = TypeVar("Row", bound=Model)


@cache
def _only(model: type[Row]) -> Prepared[Row, Row]:
    return prepared(lambda: model._default_manager.filter(pk=1))


def own_row(model: type[Row], **otherwise: Any) -> Row:
    """The row of `model` whose key is 1, or an unsaved one of the model's defaults and `otherwise`."""
    return _only(model).first() or model(pk=1, **otherwise)


def one_row(model: type[Model]) -> Subquery:
    """The row of `model` whose key is 1, as an annotation: a dictionary of its fields, None where there is none yet.

    For models of plain numbers and words only: what JSON cannot tell (a time, a decimal) would come back as a string.
    """
    names = {field.attname: field.attname for field in model._meta.concrete_fields}
    return Subquery(model._default_manager.filter(pk=1).values(kept=JSONObject(**names)))


def row_of(model: type[Row], kept: dict[str, Any] | None, **otherwise: Any) -> Row:
    """The row that `one_row` brought along, or an unsaved one of the model's defaults and `otherwise`."""
    if kept is None:
        return model(pk=1, **otherwise)
    names = [field.attname for field in model._meta.concrete_fields]  # PostgreSQL's JSON keeps no order of its own
    return model.from_db(None, names, [kept[name] for name in names])


class _Array(Func):
    """What a query finds, as one JSON array. Not an aggregate to Django, which would group by it."""

    output_field = JSONField()

    def as_sqlite(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        return self.as_sql(compiler, connection, function="JSON_GROUP_ARRAY", **extra)

    def as_postgresql(self, compiler: Any, connection: Any, **extra: Any) -> Any:
        return self.as_sql(compiler, connection, function="JSONB_AGG", **extra)


def rows_along(rows: "QuerySet[Any]", **columns: str) -> Subquery:
    """The few rows of a query as an annotation: a list of dictionaries in no order, None or empty where there are none.

    columns: the field of each by the name it gets. A time comes as text, for `shop.topic.moment`.
    """
    return Subquery(rows.order_by().annotate(together=_Array(JSONObject(**columns))).values("together"))
