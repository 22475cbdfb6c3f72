"""Writing very many rows in one transaction.

As QuerySet.bulk_create, which spends most of its time on composing statements: here one short statement is composed and
the database is handed the values. No signals, no defaults of the database, no relations but by their keys.
"""

from collections.abc import Sequence
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connection, connections
from django.db.models import Model


def insert(rows: Sequence[Model]) -> None:
    """Write new rows of one table. Those whose key is set keep it; else all must lack it, and do not learn theirs."""
    if not rows:
        return
    options = rows[0]._meta
    fields = [field for field in options.concrete_fields if not (field.primary_key and rows[0].pk is None)]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    statement = f"INSERT INTO {quote(options.db_table)} ({columns}) VALUES ({', '.join(['%s'] * len(fields))})"
    prepare: list[tuple[str, Any]] = [(field.attname, field.get_db_prep_save) for field in fields]
    here = connections[DEFAULT_DB_ALIAS]  # not the stand-in for it, which costs at every question
    values = [[to_db(getattr(row, name), connection=here) for name, to_db in prepare] for row in rows]
    with connection.cursor() as cursor:
        cursor.executemany(statement, values)


def reserve_keys(model: type[Model], count: int) -> list[int]:
    """Keys for so many new rows, which nobody else will get. In the transaction that writes them."""
    table = model._meta.db_table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)", [table, count]
            )
            return [key for (key,) in cursor.fetchall()]
        # SQLite: its one writer is this transaction, and a key that is used moves the sequence on
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        found = cursor.fetchone()
        last = int(found[0]) if found else 0
        return list(range(last + 1, last + count + 1))
