"""The same program on PostgreSQL: its tables, guards and ledger, by the same tests."""

import re

import pytest

pytestmark = pytest.mark.services

#: What touches the database; the browser, papers, the house rules and real starts are not about which one it is. Nor
#: are those of these parts that ask no database anything (tests/conftest.py).
PARTS = [
    "tests/test_appendonly.py",
    "tests/test_prepared.py",
    "tests/test_topic.py",
    "tests/press",
    "tests/jobs",
    "tests/people",
    "tests/stock",
    "tests/duties",
    "tests/cutting",
    "tests/room",
    "tests/safety",
    "tests/morning",
    "tests/watch",
    "tests/record",
    "tests/training",
]


def test_the_tests_of_every_part_pass_on_postgresql(postgresql, run_python):
    said = run_python(
        [
            *("-m", "pytest", "-q", "-p", "no:xdist", "-m", "not browser and not services and not paper", *PARTS),
            *("--ignore", "tests/jobs/test_server.py"),
        ],
        DATABASE_URL=postgresql,
        CI="true",
    )
    passed = re.search(r"(\d+) passed", said)
    assert passed, said[-2000:]
    assert int(passed[1]) > 100
    assert "failed" not in said.splitlines()[-1]


def test_a_room_opens_on_postgresql(postgresql, run_python, tmp_path):
    password = tmp_path / "password"
    password.write_text("the lathe hums at four")
    said = run_python(
        [
            *("manage.py", "open", "--no-serve", "--name", "Brindle Lane", "--zone", "Europe/Lisbon"),
            *("--units", "metric", "--owner-name", "Orla Tindrum", "--sign-in", "orla"),
            *("--password-file", str(password)),
        ],
        DATABASE_URL=postgresql,
        LATHESIDE_DATA=str(tmp_path),
    )
    assert "Brindle Lane is open. Sign in as orla" in said
    assert not (tmp_path / "latheside.sqlite3").exists()


def test_short_queries_are_not_compiled(postgresql, run_python, tmp_path):
    """Our long unions find few rows; compiling them took a second each."""
    asked = (
        "from django.db import connection as c; k = c.cursor(); k.execute('SHOW jit'); print(\"jit\", *k.fetchone())"
    )
    said = run_python(["manage.py", "shell", "-c", asked], DATABASE_URL=postgresql, LATHESIDE_DATA=str(tmp_path))
    assert "jit off" in said
