"""The brakes on guessing through real servers: many tries at once, and after a restart; on SQLite and PostgreSQL."""

import re
import shutil
import signal
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, HTTPRedirectHandler, Request, build_opener

import pytest

from tests.house.files import ROOT
from tests.processes import environment
from tests.services.servers import running, wait_until

pytestmark = pytest.mark.services

RIGHT, WRONG = "the lathe hums at four", "not it at all, no no"


@pytest.fixture(params=["sqlite", "postgresql"])
def variables(request, tmp_path) -> dict[str, str]:
    """The environment of a room that is open, on each database."""
    there = {"LATHESIDE_DATA": str(tmp_path)}
    if request.param == "postgresql":
        there["DATABASE_URL"] = request.getfixturevalue("postgresql")
    else:
        shutil.copy(request.getfixturevalue("migrated"), tmp_path)
    password = tmp_path / "password"
    password.write_text(RIGHT)
    request.getfixturevalue("run_python")(
        [
            *("manage.py", "open", "--no-serve", "--name", "Brindle Yard", "--zone", "Europe/Lisbon"),
            *("--units", "metric", "--owner-name", "Orla Tindrum", "--sign-in", "orla"),
            *("--password-file", str(password)),
        ],
        **there,
    )
    return there


@contextmanager
def served(variables: dict[str, str], log: Path) -> Iterator[str]:
    command = [sys.executable, "manage.py", "serve", "--listen", "127.0.0.1:0"]
    with running(command, log, stop=signal.SIGTERM, cwd=ROOT, env=environment(**variables)) as process:

        def address() -> str:
            said = re.search(r"answers at (http://[\d.:]+)/", log.read_text())
            assert process.poll() is None, log.read_text()[-6000:]
            return said[1] if said else ""

        wait_until(lambda: bool(address()), 120, "the room answers")
        yield address()


class _Stays(HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None


class Browser:
    """A browser at the door; `after` brings along what another one was left with, but for its session."""

    def __init__(self, room: str, after: "Browser | None" = None) -> None:
        self.room, self.jar = room, CookieJar()
        for cookie in after.jar if after else ():
            if cookie.name == "known":
                self.jar.set_cookie(cookie)
        self.opener = build_opener(HTTPCookieProcessor(self.jar), _Stays())
        self.form = self._ask("/people/sign-in/")[1]

    def _ask(self, path: str, typed: dict[str, str] | None = None) -> tuple[int, str]:
        data = urlencode(typed).encode() if typed else None
        try:
            with self.opener.open(Request(self.room + path, data), timeout=60) as answer:
                return answer.status, answer.read().decode()
        except HTTPError as answer:
            return answer.code, answer.read().decode()

    def sign_in(self, password: str, name: str = "orla") -> int:
        """The status: 302 let in, 422 looked at and refused, 429 held up."""
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.form)
        assert token
        typed = {"csrfmiddlewaretoken": token[1], "username": name, "password": password}
        return self._ask("/people/sign-in/", typed)[0]


def test_many_tries_at_once_and_after_a_restart(variables, tmp_path):
    with served(variables, tmp_path / "log") as room:
        known = Browser(room)
        assert known.sign_in(RIGHT) == 302
        browsers = [Browser(room) for _ in range(24)]
        with ThreadPoolExecutor(24) as threads:
            answers = list(threads.map(lambda browser: browser.sign_in(WRONG), browsers))
        # five are looked at, the fifth makes the next one wait
        assert sorted(answers) == [422] * 5 + [429] * 19
        assert Browser(room).sign_in(RIGHT) == 429
    with served(variables, tmp_path / "log-2") as room:
        assert Browser(room).sign_in(RIGHT) == 429  # a restart forgets nothing
        assert Browser(room).sign_in(WRONG, "nobody") == 422  # another name is another account
        # the device that knows her is not held up by strangers
        assert Browser(room, after=known).sign_in(RIGHT) == 302
