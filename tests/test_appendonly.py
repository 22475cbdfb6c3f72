"""The database itself refuses to change or remove what is only ever added."""

from uuid import uuid4

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction

from shop.appendonly import GUARDED, append_only, lift_guard, set_guard


@pytest.fixture
def table(db):
    """A table of its own, guarded, with one row."""
    name = f"guarded_{uuid4().hex[:8]}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE TABLE {name} (id integer PRIMARY KEY, word varchar(20))")
        cursor.execute(f"INSERT INTO {name} VALUES (1, 'first')")
    set_guard(connection, name, "A line is never changed")
    return name


@pytest.mark.parametrize("statement", ["UPDATE {} SET word = 'x'", "DELETE FROM {}", "DELETE FROM {} WHERE id = 1"])
def test_update_and_delete_are_refused_with_the_sentence(table, statement):
    with (
        pytest.raises(DatabaseError, match="A line is never changed"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement.format(table))
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT word FROM {table}")
        assert cursor.fetchall() == [("first",)]


def test_adding_goes_on(table):
    with connection.cursor() as cursor:
        cursor.execute(f"INSERT INTO {table} VALUES (2, 'second')")
        cursor.execute(f"SELECT count(*) FROM {table}")
        assert cursor.fetchone() == (2,)


def test_the_guard_can_be_lifted_and_set_again(table):
    lift_guard(connection, table)
    lift_guard(connection, table)
    with connection.cursor() as cursor:
        cursor.execute(f"UPDATE {table} SET word = 'changed'")
    set_guard(connection, table, "Never")
    with pytest.raises(DatabaseError, match="Never"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {table}")


@pytest.mark.django_db
def test_another_kind_of_database_is_refused():
    class Other:
        vendor = "other"
        cursor = connection.cursor

    with pytest.raises(NotImplementedError, match="other"):
        set_guard(Other(), "t", "s")


@pytest.mark.django_db
def test_guarded_tables_exist():
    assert set(GUARDED) <= {model._meta.db_table for model in apps.get_models()}


def triggers():
    sql = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return {name for (name,) in cursor.fetchall()}


def guards():
    return {f"{table}_no_{verb}" for table in GUARDED for verb in ("update", "delete")}


@pytest.mark.django_db
def test_every_guarded_table_has_both_triggers():
    assert len(GUARDED) >= 4
    assert guards() <= triggers()


@pytest.mark.django_db(transaction=True)
def test_a_test_with_real_transactions_leaves_a_row(engineer):
    """The test after this one sees whether emptying the database worked."""
    assert engineer.pk


@pytest.mark.django_db(transaction=True)
def test_the_guards_are_back_after_the_database_was_emptied():
    assert guards() <= triggers()


def test_a_migration_step_names_the_rows():
    kept = dict(GUARDED)
    try:
        append_only("some_table", "A line")
        assert GUARDED["some_table"].startswith("A line is never changed or removed")
    finally:
        GUARDED.clear()
        GUARDED.update(kept)
