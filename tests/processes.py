"""Several processes: commands run as a person would run them, and what is made once for all those of a run of tests."""

import fcntl
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.house.files import ROOT


def once_a_run(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """The folder called `name`, which `make` fills; who comes meanwhile waits for it. One that fails is made anew."""
    base = factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent
    folder, being_made = base / name, base / f"{name}-being-made"
    with (base / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            shutil.rmtree(being_made, ignore_errors=True)
            being_made.mkdir()
            make(being_made)
            being_made.rename(folder)
    return folder


def environment(**variables: str) -> dict[str, str]:
    """This process's environment without what the tests set in it, and with `variables`."""
    ours = ("DJANGO_", "PYTEST_", "LATHESIDE_", "DATABASE_URL", "REDIS_URL", "EMAIL_URL", "SECRET_KEY")
    return {name: value for name, value in os.environ.items() if not name.startswith(ours)} | variables


def run_here(arguments: list[str], variables: dict[str, str]) -> str:
    """A Python started in the project's folder with the environment `variables`, which must end well; what it said."""
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=variables,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-8000:]
    return done.stdout
