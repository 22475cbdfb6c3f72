"""What every test may use: the cast, the room, the moved clock; and how test databases are emptied."""

import gc
import os
import shutil
from collections.abc import Callable, Generator, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as django_settings
from django.db import connection, transaction
from django.db.backends.sqlite3.base import DatabaseOperations as SQLiteOperations
from django.test import Client
from hypothesis import settings as hypothesis_settings
from pytest_django import DjangoDbBlocker

from shop import clock
from shop.appendonly import GUARDED, lift_guard, set_guard
from shop.people.models import Person, Role, Room
from tests import makers
from tests.migrated import NAME, migrate_into
from tests.processes import once_a_run

#: With CI set nothing may be left out: every tool can be had there, and a skip would hide a missing one.
CI = bool(os.environ.get("CI"))

hypothesis_settings.register_profile("house", deadline=None, print_blob=True, derandomize=CI)
hypothesis_settings.load_profile("house")


def _no_skip_in_ci(report: Any) -> None:
    if CI and report.outcome == "skipped" and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"With CI set a skipped test is a failure. {reason}"


def pytest_collection_finish() -> None:
    """What is there once all tests are collected stays to the end: let the search for garbage leave it alone from now
    on, which takes a sixth off the processor's time."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    _no_skip_in_ci(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    _no_skip_in_ci(report)
    return report


def pytest_unconfigure() -> None:
    """Remove the data folder of this process; xdist's workers end without running what is registered for the exit."""
    shutil.rmtree(django_settings.DATA_DIR, ignore_errors=True)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The longest first, so that two processes end together. On another database, leave out what cannot differ there:
    what is about SQLite, and what asks no database anything."""
    items.sort(key=lambda item: item.get_closest_marker("services") is None)
    if connection.vendor == "sqlite":
        return
    alike = [item for item in items if item.get_closest_marker("sqlite") or not _asks_the_database(item)]
    if alike:
        config.hook.pytest_deselected(items=alike)
        left_out = set(alike)
        items[:] = [item for item in items if item not in left_out]


def _asks_the_database(item: pytest.Item) -> bool:
    fixtures = {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
    return bool(fixtures) or item.get_closest_marker("django_db") is not None


# The database ---------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file in which all migrations have run and nothing else has: where what is tested is not the migrating,
    a room starts from a copy of it."""
    return once_a_run(tmp_path_factory, "migrated", migrate_into) / NAME


@pytest.fixture(scope="session")
def django_db_keepdb() -> bool:
    """Whether the test database is there already; then only what is missing in it is migrated."""
    return connection.vendor == "sqlite"


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, request: pytest.FixtureRequest
) -> None:
    if connection.vendor == "sqlite":
        shutil.copyfile(request.getfixturevalue("migrated"), connection.settings_dict["TEST"]["NAME"])


@pytest.fixture(scope="module")
def db_of_file(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """The database for fixtures of a whole file: each test finds what they wrote, and what it writes itself is undone.

    Not in a file whose tests have real transactions (`transaction=True`): these empty the tables.
    """
    with django_db_blocker.unblock():
        around = transaction.atomic()
        around._from_testcase = True  # type: ignore[attr-defined]  # so that the actions' outermost ones may be inside it
        around.__enter__()
    yield
    with django_db_blocker.unblock():
        transaction.set_rollback(True)
        around.__exit__(None, None, None)


@pytest.fixture(scope="session", autouse=True)
def _emptying_lifts_the_guards() -> Iterator[None]:
    """Let a test with real transactions be cleaned up after.

    Django then empties every table; on SQLite by DELETE, which the append-only triggers would refuse.
    (On PostgreSQL it is TRUNCATE, which row triggers do not see.)
    """
    empty = SQLiteOperations.execute_sql_flush

    def lifted(self: SQLiteOperations, statements: list[str]) -> None:
        for table in GUARDED:
            lift_guard(self.connection, table)
        try:
            empty(self, statements)
        finally:
            for table, sentence in GUARDED.items():
                set_guard(self.connection, table, sentence)

    SQLiteOperations.execute_sql_flush = lifted  # type: ignore[method-assign]
    yield
    SQLiteOperations.execute_sql_flush = empty  # type: ignore[method-assign]


@pytest.fixture
def room_row(db: None) -> Iterator[Room]:
    """The room, in a zone with changes of clock; that zone is active for the length of the test."""
    assert connection.features.supports_json_field  # Django asks SQLite that once: no test is to count it as a query
    room = makers.make_room()
    with clock.in_zone(room.zone):
        yield room


@pytest.fixture
def owner(room_row: Room) -> Person:
    return makers.make_person("tindrum", "Orla Tindrum", Role.OWNER)


@pytest.fixture
def engineer(room_row: Room) -> Person:
    return makers.make_person("maarsk", "Edvin Maarsk", Role.ENGINEER)


@pytest.fixture
def assistant(room_row: Room) -> Person:
    return makers.make_person("pellow", "Asta Pellow", Role.ASSISTANT)


@pytest.fixture
def visitor(room_row: Room) -> Person:
    return makers.make_person("quandry", "Vito Quandry", Role.VISITOR)


@pytest.fixture
def client_of() -> Callable[[Person], Client]:
    """`client_of(person)`: a browser in which that person has signed in."""

    def signed_in(person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client

    return signed_in


@pytest.fixture
def at() -> Callable[[str], AbstractContextManager[None]]:
    """`with at("2025-03-03 08:10"):` it is that moment on the room's clock; see makers.moment."""
    return makers.at
