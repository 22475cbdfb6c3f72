"""Builds the rooms that the browser tests open, once for a whole run: `python -m tests.browser.seed FOLDER`.

Three images of the database, which a test puts in the place of its server's own in some milliseconds (see room.py):
bare, a room just opened; morning, a short demo room before the check; day, the same once the check is signed. Beside
them seed.json: for each image the keys of signed-in sessions by sign-in name, and the path of each scene.
"""

import json
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import django
from django.conf import settings

from tests.browser import WHEN, ZONE

DAYS = 45
IMAGES = ("bare", "morning", "day")


def main(folder: Path) -> None:
    django.setup()
    from django.core.management import call_command
    from django.db import connection

    from shop import clock
    from shop.demo import cast
    from shop.demo.story import Story
    from shop.people.opening import open_room

    import_module("shop.demo.story").DAYS = DAYS  # type: ignore[attr-defined]
    told: dict[str, Any] = {"sessions": {}, "paths": {}}
    call_command("migrate", interactive=False, verbosity=0)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=OFF")  # nothing here outlives the tests
    _keep(connection, folder / "fresh.sqlite3")

    with clock.moved(WHEN):
        owner = open_room(
            name=cast.ROOM,
            zone=cast.ZONE,
            units="metric",
            owner_name=cast.OWNER[0],
            sign_in=cast.OWNER[1],
            password=cast.PASSWORD,
        )
        told["sessions"]["bare"] = {owner.sign_in: _session(owner)}
    _keep(connection, folder / "bare.sqlite3")

    _put(connection, folder / "fresh.sqlite3")
    Story(WHEN.date()).build()
    with clock.in_zone(ZONE), clock.moved(WHEN):
        from tests.browser import scenes

        told["sessions"]["morning"] = told["sessions"]["day"] = _sessions()
        _keep(connection, folder / "morning.sqlite3")
        scenes.sign_a_check()
        scenes.arrange()
        told["paths"] = scenes.paths()
        _keep(connection, folder / "day.sqlite3")
    (folder / "seed.json").write_text(json.dumps(told))


def _keep(connection: Any, file: Path) -> None:
    connection.ensure_connection()
    with connection.Database.connect(file) as there:
        connection.connection.backup(there)
    there.close()


def _put(connection: Any, file: Path) -> None:
    with connection.Database.connect(file) as there:
        there.backup(connection.connection)
    there.close()


def _sessions() -> dict[str, str]:
    from shop.people.models import Person

    return {person.sign_in: _session(person) for person in Person.objects.all()}


def _session(person: Any) -> str:
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.create()
    return str(session.session_key)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
