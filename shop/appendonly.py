"""Tables to which rows are only ever added. The database itself refuses the rest, on SQLite and PostgreSQL."""

from typing import Any

from django.db.migrations.operations.base import Operation

#: Every guarded table, so that the tests can lift the guard while they empty the database.
GUARDED: dict[str, str] = {}


def _statements(vendor: str, table: str, sentence: str) -> tuple[list[str], list[str]]:
    """SQL that sets the guard on `table`, and SQL that lifts it."""
    said = sentence.replace("'", "''")
    names = {verb: f"{table}_no_{verb.lower()}" for verb in ("UPDATE", "DELETE")}
    if vendor == "sqlite":
        make = [
            f"CREATE TRIGGER {name} BEFORE {verb} ON {table} BEGIN SELECT RAISE(ABORT, '{said}'); END"
            for verb, name in names.items()
        ]
        return make, [f"DROP TRIGGER IF EXISTS {name}" for name in names.values()]
    if vendor == "postgresql":
        make = [
            f"CREATE FUNCTION {table}_append_only() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{said}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
        ]
        make += [
            f"CREATE TRIGGER {name} BEFORE {verb} ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_append_only()"
            for verb, name in names.items()
        ]
        lift = [f"DROP TRIGGER IF EXISTS {name} ON {table}" for name in names.values()]
        return make, [*lift, f"DROP FUNCTION IF EXISTS {table}_append_only()"]
    raise NotImplementedError(f"no append-only guard is written for {vendor}")


def set_guard(connection: Any, table: str, sentence: str) -> None:
    """Make the database refuse UPDATE and DELETE on `table`, saying `sentence`."""
    with connection.cursor() as cursor:
        for statement in _statements(connection.vendor, table, sentence)[0]:
            cursor.execute(statement)


def lift_guard(connection: Any, table: str) -> None:
    """Undo `set_guard`. For migrations and for emptying a test database only."""
    with connection.cursor() as cursor:
        for statement in _statements(connection.vendor, table, "")[1]:
            cursor.execute(statement)


class _Guard(Operation):
    """A migration step that sets a guard. Unlike one that runs Python it asks for no models as they stood then, whose
    rendering would take most of the time of a first start."""

    reversible = True

    def __init__(self, table: str, sentence: str) -> None:
        self.table, self.sentence = table, sentence

    def state_forwards(self, app_label: str, state: Any) -> None:
        pass

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        set_guard(schema_editor.connection, self.table, self.sentence)

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        lift_guard(schema_editor.connection, self.table)

    def describe(self) -> str:
        return f"Let rows only be added to {self.table}"


def append_only(table: str, what: str) -> Operation:
    """A migration step that guards `table`; `what` names its rows in the refusal ("a movement")."""
    sentence = f"{what} is never changed or removed: add a new record that puts it right"
    GUARDED[table] = sentence
    return _Guard(table, sentence)
