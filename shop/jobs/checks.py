"""System checks: what is wrong with the settings of this room, said before it starts.

Run by `manage.py check`, and by every command that touches the data.
"""

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlsplit

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, register

from shop.sqlite import has_wal_fault


def register_all() -> None:
    """None of them opens a database, so they are not among Django's `database` checks, which most commands skip."""
    for check in (database_is_one_we_guard, no_wal_on_an_affected_library, redis_address_is_one):
        register(check, "latheside")


def database_is_one_we_guard(app_configs: Sequence[AppConfig] | None, **rest: Any) -> list[CheckMessage]:
    """The append-only guards are written for SQLite and PostgreSQL."""
    engine = settings.DATABASES["default"]["ENGINE"]
    if engine in ("django.db.backends.sqlite3", "django.db.backends.postgresql"):
        return []
    return [
        Error(
            f"DATABASE_URL asks for {engine}; Latheside keeps its records in SQLite or PostgreSQL.",
            hint="Give a sqlite:/// or postgres:// address, or none: then it is SQLite in the data folder.",
            id="latheside.E001",
        )
    ]


def no_wal_on_an_affected_library(app_configs: Sequence[AppConfig] | None, **rest: Any) -> list[CheckMessage]:
    """Refuse WAL on a SQLite that can damage a database in it."""
    database = settings.DATABASES["default"]
    if not database["ENGINE"].endswith("sqlite3") or not has_wal_fault(settings.SQLITE_VERSION):
        return []
    asked = str(database.get("OPTIONS", {}).get("init_command", "")).replace(" ", "").lower()
    if "journal_mode=wal" not in asked:
        return []
    version = ".".join(map(str, settings.SQLITE_VERSION))
    return [
        Error(
            f"SQLite {version} has a fault that can damage a database in WAL mode, and WAL is asked for.",
            hint="Install pysqlite3 (it carries a sound library), or a SQLite of 3.51.3 or newer.",
            id="latheside.E002",
        )
    ]


def redis_address_is_one(app_configs: Sequence[AppConfig] | None, **rest: Any) -> list[CheckMessage]:
    if not settings.REDIS_URL:
        return []
    address = urlsplit(settings.REDIS_URL)
    if address.scheme in ("redis", "rediss", "unix") and (address.hostname or address.path):
        return []
    return [
        Error(
            "REDIS_URL is not the address of a Redis.",
            hint="It looks like redis://localhost:6379/0, or is left out: then one machine does everything.",
            id="latheside.E003",
        )
    ]
