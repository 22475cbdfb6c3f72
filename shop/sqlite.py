"""Which SQLite library to run on.

Before 3.51.3 (save 3.44.6 and 3.50.7) SQLite has a rare fault in WAL mode when two connections write or checkpoint at
once. Where the system's own library is affected, the one that the pysqlite3 wheel carries takes its place.
"""

import sqlite3
import sys

Version = tuple[int, ...]


def has_wal_fault(version: Version) -> bool:
    """Whether a SQLite of this version (three numbers) is affected."""
    if version[:2] == (3, 44):
        return version < (3, 44, 6)
    if version[:2] == (3, 50):
        return version < (3, 50, 7)
    return version < (3, 51, 3)


def use_sound_library() -> Version:
    """Put a sound SQLite in place of an affected one, before Django first opens a database; return its version."""
    current = sys.modules["sqlite3"]
    if has_wal_fault(current.sqlite_version_info):
        try:
            import pysqlite3
        except ImportError:
            return sqlite3.sqlite_version_info
        sys.modules["sqlite3"] = pysqlite3
        sys.modules["sqlite3.dbapi2"] = pysqlite3.dbapi2
        current = pysqlite3
    version: Version = current.sqlite_version_info
    return version
