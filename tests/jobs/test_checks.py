import pytest

from shop.jobs import checks


def ids(messages):
    return [message.id for message in messages]


@pytest.fixture
def database(settings):
    """Settings of the database that the test may change."""
    chosen = {"ENGINE": "django.db.backends.sqlite3", "OPTIONS": {}}
    settings.DATABASES = {"default": chosen}
    return chosen


@pytest.mark.filterwarnings("ignore:Overriding setting DATABASES")
class TestDatabase:
    @pytest.mark.parametrize(
        ("version", "command", "found"),
        [
            ((3, 40, 1), "PRAGMA journal_mode=WAL; PRAGMA foreign_keys=ON", ["latheside.E002"]),
            ((3, 40, 1), "pragma journal_mode = wal", ["latheside.E002"]),
            ((3, 40, 1), "PRAGMA journal_mode=DELETE", []),
            ((3, 40, 1), "", []),
            ((3, 53, 4), "PRAGMA journal_mode=WAL", []),
        ],
    )
    def test_wal_is_refused_on_an_affected_library(self, settings, database, version, command, found):
        settings.SQLITE_VERSION = version
        database["OPTIONS"] = {"init_command": command}
        assert ids(checks.no_wal_on_an_affected_library(None)) == found

    def test_the_library_does_not_matter_on_postgresql(self, settings, database):
        settings.SQLITE_VERSION = (3, 40, 1)
        database.update(ENGINE="django.db.backends.postgresql", OPTIONS={"init_command": "journal_mode=WAL"})
        assert checks.no_wal_on_an_affected_library(None) == []

    @pytest.mark.parametrize(("engine", "found"), [("sqlite3", []), ("postgresql", []), ("mysql", ["latheside.E001"])])
    def test_another_kind_of_database_is_refused(self, database, engine, found):
        database["ENGINE"] = f"django.db.backends.{engine}"
        assert ids(checks.database_is_one_we_guard(None)) == found


@pytest.mark.parametrize(
    ("address", "found"),
    [
        ("", []),
        ("redis://localhost:6379/0", []),
        ("rediss://cache.example:6380/1", []),
        ("unix:///run/redis.sock", []),
        ("localhost:6379", ["latheside.E003"]),
        ("http://localhost:6379", ["latheside.E003"]),
        ("redis://", ["latheside.E003"]),
    ],
)
def test_the_address_of_redis(settings, address, found):
    settings.REDIS_URL = address
    assert ids(checks.redis_address_is_one(None)) == found
