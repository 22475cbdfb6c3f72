"""Real servers for the tests, each started for them on a free port of the loopback address and stopped by its own pid.

As root, PostgreSQL (which refuses to run as root) runs as the system's user `postgres`.
"""

import asyncio
import os
import pwd
import secrets
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import Message
from pathlib import Path

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

LOOPBACK = "127.0.0.1"


def free_port() -> int:
    """A port that stays free until a server takes it: below those that systems hand out to whoever connects."""
    while True:
        port = secrets.choice(range(20_000, 32_000))
        try:
            socket.create_server((LOOPBACK, port)).close()
        except OSError:
            continue
        return port


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


@dataclass
class MortalRedis:
    """A Redis that keeps nothing on disk, so that each start finds it empty. address: its REDIS_URL."""

    folder: Path
    port: int = field(default_factory=free_port)
    alive: ExitStack = field(default_factory=ExitStack)
    process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"redis://{LOOPBACK}:{self.port}/0"

    def start(self) -> None:
        command = ["redis-server", "--port", str(self.port), "--bind", LOOPBACK, "--dir", str(self.folder)]
        command += ["--save", "", "--appendonly", "no"]
        self.process = self.alive.enter_context(running(command, self.folder / "log"))
        wait_until(lambda: _accepts(self.port), 20, "Redis accepts connections")

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.wait()


@contextmanager
def mortal_redis() -> Iterator[MortalRedis]:
    with _folder() as folder:
        server = MortalRedis(folder)
        with server.alive:
            server.start()
            yield server


@contextmanager
def redis() -> Iterator[str]:
    """An empty Redis; gives its REDIS_URL."""
    with mortal_redis() as server:
        yield server.address


# Mail -----------------------------------------------------------------------------------------------------------------


@dataclass
class Letterbox:
    """An SMTP server that keeps what it takes, and answers as it is told to.

    script: what it does with the next mails, in order: "refuse" (451, try later), "never" (550), "slow" (answers after
    half a second), "drop" (takes the mail and hangs up without saying so); with none left it takes each. received: what
    it took, as sender, receivers and message. pause_s: what it takes its time for, between taking a mail and saying so.
    """

    port: int = 0
    pause_s: float = 0.0
    script: list[str] = field(default_factory=list)
    received: list[tuple[str, list[str], Message]] = field(default_factory=list)

    def ids(self) -> list[str]:
        """The Message-IDs of what it took, in order."""
        return [str(message["Message-ID"]) for _, _, message in self.received]

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        now = self.script.pop(0) if self.script else "take"
        if now == "refuse":
            return "451 not now"
        if now == "never":
            return "550 nobody of that name"
        if now == "slow":
            await asyncio.sleep(0.5)
        self.received.append((envelope.mail_from, envelope.rcpt_tos, message_from_bytes(envelope.content)))
        if self.pause_s:
            await asyncio.sleep(self.pause_s)
        if now == "drop":
            server.transport.abort()
        return "250 ok"


@contextmanager
def smtp() -> Iterator[Letterbox]:
    letterbox = Letterbox(port=free_port())
    controller = Controller(letterbox, hostname=LOOPBACK, port=letterbox.port)
    controller.start()
    try:
        yield letterbox
    finally:
        controller.stop()
