"""Questions to the database that are put together once and asked again with other values.

Django puts a statement together anew each time a queryset is asked. For one of several joins that takes several times
as long as the database takes to answer it, and log_side or today's page ask the same few every time.

    @prepared
    def _in_head() -> QuerySet[Fitting]:
        return Fitting.objects.filter(lathe=Given("lathe", IntegerField()), off_at=None)

    fitting = _in_head.first(lathe=lathe.pk)
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import update_wrapper
from typing import Any, Generic, TypeVar

from django.db import connection, transaction
from django.db.models import Expression, Field, Model, QuerySet
from django.db.models.sql.compiler import SQLCompiler

M = TypeVar("M", bound=Model)
#: What a row comes as: an instance, or what `values` and `values_list` make of it.
R = TypeVar("R")
T = TypeVar("T")


def _itself(value: Any) -> Any:
    return value


class Given(Expression):
    """A value that is known once the question is asked: what `make` makes of what was given by that name.

    For filters and annotations. None cannot be given: to SQL nothing equals it.
    """

    def __init__(self, name: str, output_field: "Field[Any, Any]", make: Callable[[Any], Any] = _itself) -> None:
        super().__init__(output_field=output_field)
        self.name, self.make = name, make

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        return "%s", (self,)

    def of(self, given: Mapping[str, Any]) -> Any:
        """Its value, as the database takes it. Raises TypeError where it was not given."""
        if given.get(self.name) is None:
            raise TypeError(f"the question needs {self.name!r}")
        return self.output_field.get_db_prep_value(self.make(given[self.name]), connection)


def bound(params: Iterable[Any], given: Mapping[str, Any]) -> tuple[Any, ...]:
    """The parameters of a statement, with what was given in the places left open for it."""
    return tuple(param.of(given) if isinstance(param, Given) else param for param in params)


def _like(thing: T, **but: Any) -> T:
    """A shallow copy with these attributes. (copy.copy would have a queryset asked, as for pickling.)"""
    other = object.__new__(type(thing))
    other.__dict__.update(thing.__dict__, **but)
    return other


@dataclass(frozen=True)
class _Statement(Generic[M, R]):
    """A queryset with its compiler once that has made SQL of it."""

    rows: "QuerySet[M, R]"
    compiler: SQLCompiler
    sql: str
    params: tuple[Any, ...]
    converters: Any

    @classmethod
    def of(cls, rows: "QuerySet[M, R]") -> "_Statement[M, R]":
        compiler = rows.query.get_compiler(using=rows.db)
        sql, params = compiler.as_sql()
        assert compiler.select is not None
        converters = compiler.get_converters([selected[0] for selected in compiler.select[: compiler.col_count]])
        return cls(rows, compiler, sql, tuple(params), converters)

    def with_(self, given: Mapping[str, Any]) -> "QuerySet[M, R]":
        """The queryset, to be read once: it asks this statement with what was given."""
        if self.rows.query.select_for_update and not connection.in_atomic_block:
            raise transaction.TransactionManagementError("rows are held inside a transaction only")
        said = (self.sql, bound(self.params, given))
        compiler = _like(
            self.compiler,
            connection=connection,  # that of this thread
            as_sql=lambda *args, **kwargs: said,
            get_converters=lambda expressions: self.converters,
        )
        query = _like(self.rows.query, get_compiler=lambda *args, **kwargs: compiler)
        return _like(self.rows, _query=query)


#: Every question of the house, so that the tests can look at what each is made of.
QUESTIONS: list["Prepared[Any, Any]"] = []


class Prepared(Generic[M, R]):
    """A question put together once in a process for the kind of database it has; see `prepared`."""

    def __init__(self, question: "Callable[[], QuerySet[M, R]]") -> None:
        self.question = question
        self._statements: dict[str, _Statement[M, R]] = {}
        update_wrapper(self, question)

    def __call__(self, **given: Any) -> list[R]:
        """What it finds, given these values by the names that its `Given` have. Raises TypeError if one is missing."""
        vendor = connection.vendor
        if vendor not in self._statements:
            self._statements[vendor] = _Statement.of(self.question())
        return list(self._statements[vendor].with_(given))

    def first(self, **given: Any) -> R | None:
        """The first it finds, if there is one: for a question that is put in order and asks for one row."""
        return next(iter(self(**given)), None)

    def get(self, **given: Any) -> R:
        """The row it finds: for a question that asks by a key. Raises the model's DoesNotExist if it is not there."""
        for row in self(**given):
            return row
        raise self._statements[connection.vendor].rows.model.DoesNotExist  # type: ignore[attr-defined]


def prepared(question: "Callable[[], QuerySet[M, R]]") -> Prepared[M, R]:
    """Put the queryset of a function together once. It must depend on nothing that changes but by `Given`: no moment,
    no row, no setting. Of what it is filtered by nothing may make it sure to find nothing."""
    made = Prepared(question)
    QUESTIONS.append(made)
    return made
