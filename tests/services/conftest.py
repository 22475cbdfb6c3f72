"""Services for the length of a test file, and commands run as they would be in a room that uses them."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.services import servers

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture(scope="module")
def postgresql() -> Iterator[str]:
    with servers.postgresql() as address:
        yield address


@pytest.fixture(scope="module")
def redis() -> Iterator[str]:
    with servers.redis() as address:
        yield address


@pytest.fixture
def letterbox() -> Iterator[servers.Letterbox]:
    with servers.smtp() as box:
        yield box


def environment(**variables: str) -> dict[str, str]:
    """This process's environment without what the tests set in it, and with `variables`."""
    ours = ("DJANGO_", "PYTEST_", "LATHESIDE_", "DATABASE_URL", "REDIS_URL", "EMAIL_URL", "SECRET_KEY")
    return {name: value for name, value in os.environ.items() if not name.startswith(ours)} | variables


@pytest.fixture
def run_python() -> Callable[..., str]:
    """`run_python([arguments], NAME=value)`: a Python started in the project's folder; gives what it printed."""

    def run(arguments: list[str], **variables: str) -> str:
        done = subprocess.run(
            [sys.executable, *arguments],
            cwd=ROOT,
            env=environment(**variables),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        assert done.returncode == 0, done.stdout[-6000:]
        return done.stdout

    return run
