"""The code keeps its own rules: style, types, and who may know whom."""

import subprocess
import sys

import pytest
from django.core.management import call_command

from tests.house.files import ROOT, project_files
from tests.house.tools import passes


def test_ruff_finds_nothing():
    passes("ruff", "check", "--no-cache", ".")


def test_ruff_would_format_nothing():
    passes("ruff", "format", "--no-cache", "--check", ".")


def test_types_of_the_program_hold():
    passes("mypy")


def test_types_of_the_calculations_hold_strictly():
    passes("mypy", "--strict", "shop/calc")


def test_each_part_imports_only_what_lies_below_it(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as run; run()", "--no-cache"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-6000:]
    assert "0 broken" in done.stdout


@pytest.mark.django_db
def test_the_migrations_say_what_the_models_say():
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_migrations_are_linear():
    for folder in sorted((ROOT / "shop").glob("*/migrations")):
        names = sorted(path.name[:4] for path in folder.glob("[0-9]*.py"))
        assert names == [f"{number:04}" for number in range(1, len(names) + 1)], folder


#: Files that are data more than code, and may be longer.
LONG = {"tests/house/permissions.py"}


def test_a_long_file_is_split_by_topic():
    long = {
        path.relative_to(ROOT).as_posix(): lines
        for path in project_files(".py")
        if (lines := len(path.read_text().splitlines())) > 500 and "migrations" not in path.parts
    }
    assert {path: lines for path, lines in long.items() if path not in LONG} == {}


def test_nothing_is_left_to_do_in_the_code():
    marks = ("TO" + "DO", "FIX" + "ME", "XX" + "X", "HA" + "CK")
    for path in project_files(".py", ".html", ".js", ".css", ".md", ".toml"):
        text = path.read_text()
        assert not [mark for mark in marks if mark in text], path


def test_only_the_clock_asks_for_the_time():
    """So that the demo and the tests can move it. What the time of a machine is meant for is named here."""
    allowed = {"shop/clock.py"}
    asking = ("timezone.now(", "datetime.now(", "datetime.utcnow(", "date.today(", "timezone.localdate()", "Now()")
    for path in project_files(".py"):
        name = path.relative_to(ROOT).as_posix()
        if name.startswith("shop/") and name not in allowed:
            found = [words for words in asking if words in path.read_text()]
            assert not found, f"{name} asks {found}"
