"""Real servers for the tests, each started for them on a free port of the loopback address and stopped by its own pid.

As root, PostgreSQL (which refuses to run as root) runs as the system's user `postgres`.
"""

import os
import pwd
import secrets
import shutil
import signal
import socket
import socketserver
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import Message
from pathlib import Path

LOOPBACK = "127.0.0.1"


def free_port() -> int:
    with socket.create_server((LOOPBACK, 0)) as probe:
        return int(probe.getsockname()[1])


def wait_until(true: Callable[[], bool], seconds: float, what: str) -> None:
    until = time.monotonic() + seconds
    while not true():
        if time.monotonic() > until:
            raise TimeoutError(f"{what}: not within {seconds:g} s")
        time.sleep(0.05)


@contextmanager
def running(
    command: list[str], log: Path, *, stop: signal.Signals = signal.SIGTERM, **options: object
) -> Iterator[subprocess.Popen[bytes]]:
    """A process that is there for the length of the block; what it says goes to `log`."""
    with log.open("wb") as told:
        process = subprocess.Popen(command, stdout=told, stderr=subprocess.STDOUT, **options)  # type: ignore[call-overload]
    try:
        yield process
    finally:
        process.send_signal(stop)
        try:
            process.wait(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@contextmanager
def _folder(owner: str | None = None) -> Iterator[Path]:
    folder = Path(tempfile.mkdtemp(prefix="latheside-service-"))
    if owner:
        shutil.chown(folder, owner)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


# PostgreSQL -----------------------------------------------------------------------------------------------------------


def _postgres_program(name: str) -> str:
    """On the path, or where Debian keeps it: the newest version."""
    if found := shutil.which(name):
        return found
    versions = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), key=lambda path: int(path.parts[4]))
    if not versions:
        raise FileNotFoundError(f"{name}: PostgreSQL is not installed")
    return str(versions[-1])


def _accepts(port: int) -> bool:
    try:
        socket.create_connection((LOOPBACK, port), timeout=1).close()
    except OSError:
        return False
    return True


@contextmanager
def postgresql() -> Iterator[str]:
    """A fresh cluster; gives its DATABASE_URL."""
    user = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
    as_user = {"user": user, "group": user, "extra_groups": []} if os.geteuid() == 0 else {}
    password, port = secrets.token_hex(16), free_port()
    with _folder(owner=user if as_user else None) as folder:
        secret, data = folder / "password", folder / "data"
        secret.write_text(password)
        secret.chmod(0o600)
        if as_user:
            shutil.chown(secret, user)
        options = {"cwd": folder, **as_user}
        initdb = [_postgres_program("initdb"), "-D", str(data), "-U", "shop", "-A", "scram-sha-256", "--no-sync"]
        initdb += ["--pwfile", str(secret), "-E", "UTF8", "--locale", "C"]
        subprocess.run(initdb, check=True, capture_output=True, **options)  # type: ignore[call-overload]
        server = [_postgres_program("postgres"), "-D", str(data), "-p", str(port), "-h", LOOPBACK]
        server += ["-c", "unix_socket_directories=", "-c", "fsync=off", "-c", "timezone=America/St_Johns"]
        log = folder / "log"
        with running(server, log, stop=signal.SIGINT, **options) as process:
            wait_until(
                lambda: _accepts(port) and "ready to accept connections" in log.read_text(errors="replace"),
                30,
                f"PostgreSQL ({process.pid}) accepts connections",
            )
            yield f"postgres://shop:{password}@{LOOPBACK}:{port}/postgres"


# Redis ----------------------------------------------------------------------------------------------------------------


@contextmanager
def redis() -> Iterator[str]:
    """An empty Redis that keeps nothing on disk; gives its REDIS_URL."""
    port = free_port()
    with _folder() as folder:
        command = ["redis-server", "--port", str(port), "--bind", LOOPBACK, "--dir", str(folder)]
        command += ["--save", "", "--appendonly", "no"]
        with running(command, folder / "log"):
            wait_until(lambda: _accepts(port), 20, "Redis accepts connections")
            yield f"redis://{LOOPBACK}:{port}/0"


# Mail -----------------------------------------------------------------------------------------------------------------


@dataclass
class Letterbox:
    """An SMTP server that keeps what it is given."""

    port: int = 0
    received: list[tuple[str, list[str], Message]] = field(default_factory=list)


class _Conversation(socketserver.StreamRequestHandler):
    """The little of RFC 5321 that a well-behaved sender needs."""

    def handle(self) -> None:
        sender, receivers = "", []
        self._say("220 letterbox")
        while line := self.rfile.readline():
            words = line.decode().strip()
            verb = words[:4].upper()
            if verb == "DATA":
                self._say("354 go on")
                text = b"".join(part.removeprefix(b".") for part in iter(self.rfile.readline, b".\r\n"))
                self.server.letterbox.received.append((sender, receivers, message_from_bytes(text)))  # type: ignore[attr-defined]
                sender, receivers = "", []
            elif verb == "MAIL":
                sender = words.partition("<")[2].partition(">")[0]
            elif verb == "RCPT":
                receivers.append(words.partition("<")[2].partition(">")[0])
            if verb == "QUIT":
                self._say("221 bye")
                return
            self._say("250 ok")

    def _say(self, line: str) -> None:
        self.wfile.write(line.encode() + b"\r\n")


@contextmanager
def smtp() -> Iterator[Letterbox]:
    letterbox = Letterbox()
    with socketserver.ThreadingTCPServer((LOOPBACK, 0), _Conversation) as server:
        server.daemon_threads = True
        server.letterbox = letterbox  # type: ignore[attr-defined]
        letterbox.port = server.server_address[1]
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield letterbox
        server.shutdown()
        thread.join()
