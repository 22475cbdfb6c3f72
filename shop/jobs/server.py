"""The server of a room: brings the data up to date, then answers the browsers until it is told to stop."""

import errno
import hashlib
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from types import FrameType
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import CommandError, call_command
from django.db import connections
from django.db.migrations.executor import MigrationExecutor
from django.template.loader import render_to_string
from waitress.channel import HTTPChannel
from waitress.server import create_server
from waitress.task import ErrorTask
from waitress.utilities import RequestEntityTooLarge

from shop.jobs.clockwork import Clockwork

LISTEN = "127.0.0.1:8000"
THREADS = 8
#: Larger than any form of ours; a browser that sends more is told so before it is read.
MOST_BYTES = 20 * 1024 * 1024

#: Libraries that take long to load. Pages import them where they are first needed; loading them right after the start
#: spares the first such page the wait. In the order in which somebody who signs in will want them.
HEAVY = (
    "numpy",
    "scipy.special",
    "scipy.optimize",
    "scipy.fft",
    "pint",
    "CoolProp.CoolProp",
    "matplotlib.figure",
    "matplotlib.backends.backend_svg",
    "weasyprint",
)
WARM_UP_AFTER_S = 2.0

Say = Callable[[str], Any]


def serve(listen: str = LISTEN, announce: Callable[[str], None] | None = None, say: Say = print) -> None:
    """Serve the room until SIGTERM or Ctrl-C.

    listen: "HOST:PORT"; port 0 takes a free one. announce: called with the address once it answers; says how to sign
    in, where somebody knows. say: where sentences go. Raises CommandError with a sentence where it cannot start.
    """
    with bind(listen) as door:
        prepare(say)
        _let_in(door)
        _link_to(door)
        from shop.wsgi import application  # not sooner: it looks through the static files as they are now

        server = create_server(
            application,
            sockets=[door],
            threads=THREADS,
            ident=None,
            max_request_body_size=MOST_BYTES,
            **_behind_a_proxy(),
        )
        server.channel_class = _Channel
        clock = Clockwork() if not settings.REDIS_URL else None  # with Redis, Celery's beat is the clock
        if clock:
            clock.start()
        _warm_up()
        address = address_of(door)
        say(f"Latheside answers at {address}  (Ctrl-C stops it)")
        for line in _reach(door):
            say(line)
        if announce:
            announce(address)
        sys.stdout.flush()
        _run_until_told(server.run)
        if clock:
            clock.stop()
        connections.close_all()
        say("Stopped. What was saved is kept.")


class _ErrorTask(ErrorTask):
    """The server's own answers to what never reaches the program; the one that people can meet says what to do."""

    def execute(self) -> None:
        if isinstance(self.request.error, RequestEntityTooLarge):
            self.request.error = _TooLarge(self.request.path, self.request.headers)
        super().execute()


class _TooLarge(RequestEntityTooLarge):
    """What was sent is more than is read: as a page of ours for a browser, as a sentence for anything else."""

    def __init__(self, path: str, headers: dict[str, str]) -> None:
        super().__init__(f"It is larger than {MOST_BYTES // (1024 * 1024)} MB, so it was not read. Nothing was saved.")
        self.is_browser = "text/html" in headers.get("ACCEPT", "") or "HX_REQUEST" in headers
        self.back = path if path.startswith("/") and not path.startswith("//") else "/"

    def to_response(self, ident: str | None = None) -> tuple[str, list[tuple[str, str]], bytes]:
        kind, said = "plain", f"{self.body}\r\n"
        if self.is_browser:
            kind, said = "html", render_to_string("too_large.html", {"sentence": self.body, "back": self.back})
        headers = [
            ("Content-Type", f"text/{kind}; charset=utf-8"),
            (
                "Content-Security-Policy",
                "default-src 'none'; style-src 'self'; base-uri 'none'; frame-ancestors 'none'",
            ),
            ("X-Content-Type-Options", "nosniff"),
            ("Cache-Control", "no-store"),
        ]
        return f"{self.code} {self.reason}", headers, said.encode()


class _Channel(HTTPChannel):
    error_task_class = _ErrorTask


# The address ---------------------------------------------------------------------------------------------------------


def parse_listen(listen: str) -> tuple[str, int]:
    """Host and port of "HOST:PORT", ":PORT" or "PORT"; CommandError for anything else."""
    host, _, port = listen.rpartition(":")
    host = host.removeprefix("[").removesuffix("]") or "127.0.0.1"
    if not port.isdigit() or int(port) > 65535:
        raise CommandError(f"--listen takes an address and a port, as in {LISTEN}; {listen!r} is not one.")
    return host, int(port)


def bind(listen: str) -> socket.socket:
    """A socket that listens there, or CommandError saying why not and what to do."""
    host, port = parse_listen(listen)
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        return socket.create_server((host, port), family=family, backlog=256)
    except OSError as wrong:
        if wrong.errno == errno.EADDRINUSE:
            raise CommandError(
                f"Port {port} of {host} is taken by another program, perhaps another start of Latheside. Stop that "
                f"one, or take another port: --listen {host}:{port + 1}"
            ) from wrong
        if wrong.errno == errno.EACCES:
            raise CommandError(
                f"This user may not listen on port {port}. Take one above 1023: --listen {host}:8000"
            ) from wrong
        raise CommandError(
            f"{host} is not an address of this machine. Take 127.0.0.1 for this machine alone, or 0.0.0.0 for all "
            "that can reach it."
        ) from wrong


def _is_open_to_all(door: socket.socket) -> bool:
    return door.getsockname()[0] in ("0.0.0.0", "::")


def address_of(door: socket.socket) -> str:
    host, port = door.getsockname()[:2]
    if _is_open_to_all(door):
        host = "127.0.0.1"
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def _link_to(door: socket.socket) -> None:
    """Let links in mails and calendars begin with where it answers, unless the room said how it is reached."""
    if "LATHESIDE_ADDRESS" not in os.environ:
        settings.LATHESIDE_ADDRESS = address_of(door).rstrip("/")


def own_addresses() -> list[str]:
    """Names and addresses by which others in the network reach this machine, as far as it knows them."""
    name = socket.gethostname()
    found = [name, f"{name}.local"]
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # sends nothing: only asks which of its addresses would be used
            found.append(probe.getsockname()[0])
        except OSError:
            pass  # not connected to any network
    return found


def _let_in(door: socket.socket) -> None:
    """Answer to the address that was asked for on the command line, too."""
    asked = own_addresses() if _is_open_to_all(door) else [door.getsockname()[0]]
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, *(f"[{h}]" if ":" in h else h for h in asked)]


def _reach(door: socket.socket) -> list[str]:
    """What to say where more than this machine can reach it."""
    if not _is_open_to_all(door):
        return []
    port = door.getsockname()[1]
    lines = [f"On a phone in the same network: http://{own_addresses()[-1]}:{port}/"]
    if not settings.HTTPS:
        lines.append(
            "Others in that network could read passwords on their way: for more than a trial put HTTPS in front "
            "(DEVELOPERS.md says how)."
        )
    return lines


def _behind_a_proxy() -> dict[str, Any]:
    """Whom to believe about the browser's address and HTTPS; nobody, unless a proxy is named."""
    if not settings.TRUSTED_PROXY:
        return {}
    return {
        "trusted_proxy": settings.TRUSTED_PROXY,
        "trusted_proxy_count": 1,
        "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto", "x-forwarded-host"},
    }


# Before the first page -----------------------------------------------------------------------------------------------


def prepare(say: Say = print) -> None:
    """Bring the tables and the static files up to date with the program."""
    keep_to_ourselves()
    executor = MigrationExecutor(connections["default"])
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        say("Bringing the tables up to date.")
        call_command("migrate", interactive=False, verbosity=0)
    collect_static()


def keep_to_ourselves() -> None:
    """Let nobody else on the machine read the database: SQLite gives its further files the rights of the first."""
    for database in settings.DATABASES.values():
        if database["ENGINE"].endswith("sqlite3") and not str(database["NAME"]).startswith((":", "file:")):
            file = Path(database["NAME"])
            file.touch(mode=0o600)
            for one in (file, file.with_name(f"{file.name}-wal"), file.with_name(f"{file.name}-shm")):
                if one.exists() and one.stat().st_mode & 0o077:
                    one.chmod(0o600)


def collect_static() -> None:
    """Put the static files where they are served from, named by their content, if any has changed since."""
    if settings.DEBUG:
        return  # served straight from the source folders
    stamp = Path(settings.STATIC_ROOT) / ".collected"
    now = _fingerprint_of_static()
    if not stamp.exists() or stamp.read_text() != now:
        call_command("collectstatic", interactive=False, verbosity=0)
        stamp.write_text(now)


def _fingerprint_of_static() -> str:
    """Changes when any static file does, by path, size and time of change."""
    seen = hashlib.sha256()
    for finder in get_finders():
        for path, storage in finder.list(None):
            file = Path(storage.path(path)).stat()
            seen.update(f"{path}\0{file.st_size}\0{file.st_mtime_ns}\n".encode())
    return seen.hexdigest()


def _warm_up() -> threading.Timer:
    """Load the heavy libraries in the background, after the first page had its chance."""
    timer = threading.Timer(WARM_UP_AFTER_S, load_heavy)
    timer.daemon = True
    timer.start()
    return timer


def load_heavy() -> None:
    for name in HEAVY:
        try:
            import_module(name)
        except (ImportError, OSError):
            continue  # the page that needs it says what is missing (WeasyPrint without Pango raises OSError)


# The end -------------------------------------------------------------------------------------------------------------


def _run_until_told(run: Callable[[], None]) -> None:
    """Run until SIGTERM, SIGINT or SIGHUP; requests being answered are finished first."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = {number: signal.signal(number, stop) for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)}
    try:
        run()
    except KeyboardInterrupt:
        pass  # it came between two steps of the server's own shutting down
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
