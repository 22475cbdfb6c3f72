"""A room with a running server, whose database a test can put back to one of the images in some milliseconds."""

import json
import re
import shutil
import signal
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.db.backends.sqlite3.base import Database as sqlite

from tests.house.files import ROOT
from tests.processes import environment, run_here
from tests.services.servers import running, wait_until

#: The day that the pages are walked in has sides under way, which stand in the way of others on their lathe.
NOTHING_RUNS = "DELETE FROM cutting_runningside"


class Room:
    """address: where it answers, without a slash at the end; image: the database it was last put back to."""

    def __init__(self, folder: Path, seed: Path, address: str) -> None:
        self.folder, self.seed, self.address = folder, seed, address
        told = json.loads((seed / "seed.json").read_text())
        self.paths: dict[str, str] = told["paths"]
        self.sessions: dict[str, dict[str, str]] = told["sessions"]
        self.image = ""

    def put_back(self, image: str) -> None:
        """Make the room what it was when `image` was taken."""
        with closing(sqlite.connect(self.seed / f"{image}.sqlite3")) as kept, closing(self._open()) as there:
            kept.backup(there)
        self.image = image

    def ask(self, query: str, *values: Any) -> list[tuple[Any, ...]]:
        """What the database itself holds."""
        with closing(self._open()) as there:
            return list(there.execute(query, values))

    def tell(self, statement: str) -> None:
        with closing(self._open()) as there, there:
            there.execute(statement)

    def _open(self) -> Any:
        return sqlite.connect(self.folder / "latheside.sqlite3", timeout=20)


def _environment(folder: Path) -> dict[str, str]:
    return environment(LATHESIDE_DATA=str(folder), DJANGO_SETTINGS_MODULE="shop.settings")


def build_seed(folder: Path, migrated: Path) -> None:
    """Build the images in `folder` out of an empty database, and collect the static files there once for all."""
    shutil.copy(migrated, folder)
    run_here(["-m", "tests.browser.seed", str(folder)], _environment(folder))


@contextmanager
def opened(folder: Path, seed: Path) -> Iterator[Room]:
    """A server of its own on a copy of the seed, stopped when the block ends."""
    shutil.copy(seed / "secret_key", folder)
    shutil.copy(seed / "bare.sqlite3", folder / "latheside.sqlite3")
    shutil.copytree(seed / "files", folder / "files", dirs_exist_ok=True)
    log = folder / "log"
    command = [sys.executable, "-m", "tests.browser.serve"]
    with running(command, log, stop=signal.SIGTERM, cwd=ROOT, env=_environment(folder)) as process:

        def address() -> str:
            said = re.search(r"answers at (http://[\d.:]+)/", log.read_text())
            assert process.poll() is None, log.read_text()[-6000:]
            return said[1] if said else ""

        wait_until(lambda: bool(address()), 120, "the room answers")
        yield Room(folder, seed, address())
