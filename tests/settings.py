"""Settings for the tests: the room's own, on a data folder of their own that goes when they end.

Of the environment only DATABASE_URL is heeded, so that the suite can be run on PostgreSQL; a developer's
other settings must not colour what is tested.
"""

import atexit
import os
import shutil
import tempfile

_folder = tempfile.mkdtemp(prefix="latheside-tests-")
atexit.register(shutil.rmtree, _folder, ignore_errors=True)
os.environ["LATHESIDE_DATA"] = _folder
for _name in ("LATHESIDE_DEBUG", "LATHESIDE_HTTPS", "LATHESIDE_LOG", "ALLOWED_HOSTS", "CSRF_TRUSTED_ORIGINS"):
    os.environ.pop(_name, None)
for _name in ("SECRET_KEY", "REDIS_URL", "EMAIL_URL", "MAIL_FROM"):
    os.environ.pop(_name, None)

from shop.settings import *  # noqa: E402, F403
from shop.settings import DATA_DIR, DATABASES, INSTALLED_APPS, STATIC_ROOT, STORAGES  # noqa: E402

ALLOWED_HOSTS = ["testserver", "127.0.0.1", "localhost"]
TEST_RUNNER = "tests.runner.PytestRunner"
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: two threads then meet as two people would, with WAL and the busy timeout. Nothing waits
    # for the disk, since what a power cut would lose does not matter here.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
    _options = DATABASES["default"]["OPTIONS"]
    _options["init_command"] = _options["init_command"].replace("synchronous=FULL", "synchronous=OFF")

# Argon2 is slow on purpose; no test needs that. What a real start uses is tested by starting one.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

# Pages find their static files in the source folders, without a manifest; a real start is tested apart.
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
STATIC_ROOT.mkdir(exist_ok=True)

INSTALLED_APPS = [*INSTALLED_APPS, "tests.bench"]  # its one command: manage.py bench
