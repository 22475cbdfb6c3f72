import subprocess
import sys

import pytest
from django.conf import settings
from django.db import connection

from shop.sqlite import has_wal_fault


@pytest.mark.parametrize(
    ("version", "affected"),
    [
        ((3, 37, 2), True),
        ((3, 40, 1), True),
        ((3, 44, 5), True),
        ((3, 44, 6), False),
        ((3, 45, 0), True),
        ((3, 50, 6), True),
        ((3, 50, 7), False),
        ((3, 51, 0), True),
        ((3, 51, 2), True),
        ((3, 51, 3), False),
        ((3, 53, 4), False),
        ((4, 0, 0), False),
    ],
)
def test_which_libraries_have_the_wal_fault(version, affected):
    assert has_wal_fault(version) is affected


def test_the_settings_run_on_a_sound_library():
    assert not has_wal_fault(settings.SQLITE_VERSION)


@pytest.mark.sqlite
@pytest.mark.django_db
def test_the_connection_is_on_that_library_with_wal_and_foreign_keys():
    with connection.cursor() as cursor:
        wal, keys, version = (
            cursor.execute(question).fetchone()[0]
            for question in ("PRAGMA journal_mode", "PRAGMA foreign_keys", "SELECT sqlite_version()")
        )
    assert (wal, keys) == ("wal", 1)
    assert tuple(map(int, version.split("."))) == tuple(settings.SQLITE_VERSION)


def test_an_affected_library_is_replaced_before_a_database_is_opened():
    """In a fresh process, whatever Python's own library is."""
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sqlite3; own = sqlite3.sqlite_version_info\n"
            "from shop.sqlite import has_wal_fault, use_sound_library\n"
            "used = use_sound_library()\n"
            "import sqlite3; assert sqlite3.sqlite_version_info == used\n"
            "assert not has_wal_fault(used) and (used == own or has_wal_fault(own))",
        ],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
