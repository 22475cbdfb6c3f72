"""An SQLite file in which all migrations have run and nothing else has, kept from one run of the tests to the next.

Running them takes longer than most files of tests do. It is made anew where one of them changed, and always in CI.
"""

import hashlib
import os
import shutil
from contextlib import suppress
from pathlib import Path

import django
from django.db.backends.sqlite3.base import Database as sqlite

from tests.house.files import ROOT
from tests.processes import environment, run_here

NAME = "latheside.sqlite3"
KEPT = ROOT / ".migrated"


def migrate_into(folder: Path) -> None:
    """Put the file into `folder`, by that name."""
    kept = KEPT / f"{_fingerprint()}.sqlite3"
    if not os.environ.get("CI"):
        with suppress(FileNotFoundError):
            shutil.copyfile(kept, folder / NAME)
            return
    data = folder / "data"
    data.mkdir()
    run_here(["manage.py", "migrate", "--verbosity", "0"], environment(LATHESIDE_DATA=str(data)))
    (data / NAME).rename(folder / NAME)
    shutil.rmtree(data)
    _keep(folder / NAME, kept)


def _keep(made: Path, kept: Path) -> None:
    KEPT.mkdir(exist_ok=True)
    fresh = kept.with_suffix(f".{os.getpid()}")
    shutil.copyfile(made, fresh)
    fresh.replace(kept)
    for old in set(KEPT.glob("*.sqlite3")) - {kept}:
        old.unlink(missing_ok=True)


def _fingerprint() -> str:
    """Of all that such a file rests on: the migrations, what they import of ours, and whose they run by."""
    digest = hashlib.sha256(f"Django {django.get_version()}, SQLite {sqlite.sqlite_version}".encode())
    for file in sorted([*ROOT.glob("shop/*.py"), *ROOT.glob("shop/*/migrations/*.py")]):
        digest.update(f"\n{file.relative_to(ROOT)}\n".encode() + file.read_bytes())
    return digest.hexdigest()[:32]
