import gc
import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from time import monotonic
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, connections

from shop import clock
from shop.demo import cast
from shop.demo.story import Story
from shop.jobs import server
from shop.people import opening

#: Beside the data: whose room it is, and the day on which its story ends.
MARK = "demo-ends"


class Command(BaseCommand):
    help = "Build a room that does not exist, with fifteen months behind it, and serve it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--fresh", action="store_true", help="throw the demo room away and build it anew")
        parser.add_argument("--listen", default=server.LISTEN, metavar="HOST:PORT", help="default: %(default)s")
        parser.add_argument("--no-serve", action="store_true", help="build it, and leave serving it for later")

    def handle(self, *args: Any, fresh: bool, listen: str, no_serve: bool, **options: Any) -> None:
        if not no_serve:
            server.bind(listen).close()  # before the building, not after
        mark = Path(settings.DATA_DIR) / MARK
        if fresh or (mark.exists() and not mark.read_text()):
            self._throw_away(mark)
        server.prepare(self.stdout.write)
        if opening.is_open() and not mark.exists():
            raise CommandError(
                "This data folder holds a real room, and the demo would not mix with it. Serve that one with: "
                "python3 manage.py serve. For the demo, name another folder in LATHESIDE_DATA."
            )
        if opening.is_open():
            self._say_how_old(mark.read_text())
        else:
            self._build(mark)
            if not no_serve:
                self._start_anew(listen)
        if not no_serve:
            server.serve(listen, announce=self._say_how_to_sign_in, say=self.stdout.write)

    def _build(self, mark: Path) -> None:
        began = monotonic()
        mark.write_text("")  # begun, not finished
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                cursor.execute("PRAGMA synchronous=OFF")  # the story can be told again
        with clock.in_zone(cast.ZONE):
            today = clock.today()
        gc.disable()  # much is made and little kept: looking for circles only takes time
        try:
            Story(today).build(self._progress)
        finally:
            gc.enable()
        mark.write_text(today.isoformat())
        connections.close_all()
        self.stdout.write(f"\nThe demo room is built, in {monotonic() - began:.0f} seconds.")

    def _start_anew(self, listen: str) -> None:
        """Go on as a process that has built nothing: one that has would keep its memory for as long as it serves."""
        self.stdout.flush()
        os.execv(sys.executable, [sys.executable, sys.argv[0], "demo", "--listen", listen])

    def _progress(self, done: int, total: int) -> None:
        width = 40
        full = done * width // total
        if sys.stdout.isatty():
            self.stdout.write(
                f"\rBuilding the demo room {'━' * full}{'┄' * (width - full)} day {done} of {total}", ending=""
            )
        elif done in (1, total) or done % 100 == 0:
            self.stdout.write(f"Building the demo room: day {done} of {total}")
        self.stdout.flush()

    def _throw_away(self, mark: Path) -> None:
        """Remove the demo's database. Never a real room's: those have no mark."""
        if not mark.exists():
            if opening_may_be_real():
                raise CommandError("What is in this data folder is not the demo; it is left alone.")
            return
        if connection.vendor != "sqlite":
            raise CommandError("Empty the database at DATABASE_URL yourself, then start again.")
        connections.close_all()
        name = Path(connection.settings_dict["NAME"])
        for file in (name, name.with_name(name.name + "-wal"), name.with_name(name.name + "-shm")):
            file.unlink(missing_ok=True)
        mark.unlink()

    def _say_how_old(self, ends: str) -> None:
        with clock.in_zone(cast.ZONE):
            today = clock.today().isoformat()
        if ends != today:
            self.stdout.write(
                f"The demo room's story ended on {ends}. To have it end this morning: python3 manage.py demo --fresh"
            )

    def _say_how_to_sign_in(self, address: str) -> None:
        names = [("owner", cast.OWNER[1])] + [(str(role), sign_in) for _, sign_in, role, _ in cast.OTHERS]
        listed = ", ".join(f"{sign_in} ({role})" for role, sign_in in names)
        self.stdout.write(f"Sign in as {listed}; the password of each is {cast.PASSWORD}")


def opening_may_be_real() -> bool:
    """Whether the data folder has a database with a room in it."""
    if connection.vendor == "sqlite" and not Path(connection.settings_dict["NAME"]).exists():
        return False
    return "people_room" in connection.introspection.table_names() and opening.is_open()
