"""What the machine itself must have besides Python, how to see whether it is there, and how to get it.

Standard library only: read before any package is installed.
"""

import ctypes
import os
import platform
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

Say = Callable[[str], None]

#: Where Homebrew keeps its libraries; macOS does not look there by itself.
BREW_FOLDERS = ("/opt/homebrew/lib", "/usr/local/lib")


@dataclass(frozen=True)
class Need:
    """Something of the system's: what is lost without it, and its package by installer."""

    name: str
    without: str
    is_there: Callable[[], bool]
    apt: str
    dnf: str
    brew: str
    for_tests: bool = False


def _has_library(*names: str) -> bool:
    """Whether the loader finds all of the shared libraries named (as on Linux, without `lib` and `.so.N`)."""
    for name in names:
        stem, _, number = name.partition(":")
        if sys.platform == "darwin":
            if not any(Path(folder, f"lib{stem}.{number}.dylib").exists() for folder in BREW_FOLDERS):
                return False
        else:
            try:
                ctypes.CDLL(f"lib{stem}.so.{number}")
            except OSError:
                return False
    return True


def _has_font() -> bool:
    folders = [
        "/usr/share/fonts",
        "/usr/local/share/fonts",
        "~/.local/share/fonts",
        "~/.fonts",
        "/System/Library/Fonts",
    ]
    kinds = (".ttf", ".otf", ".ttc")
    return any(
        name.endswith(kinds)
        for folder in folders
        for _, _, names in os.walk(os.path.expanduser(folder))
        for name in names
    )


def _has_program(*names: str) -> Callable[[], bool]:
    return lambda: any(shutil.which(name) for name in names)


def _has_postgres() -> bool:
    return bool(shutil.which("postgres")) or any(Path("/usr/lib/postgresql").glob("*/bin/postgres"))


NEEDS = (
    Need(
        "Pango",
        "PDFs cannot be made",
        lambda: _has_library("pango-1.0:0", "pangoft2-1.0:0", "harfbuzz-subset:0"),
        "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0",
        "pango harfbuzz",
        "pango",
    ),
    Need("a font", "PDFs have no letters", _has_font, "fonts-dejavu-core", "dejavu-sans-fonts", "font-dejavu"),
    Need(
        "Chromium",
        "the browser tests cannot run",
        _has_program("chromium", "chromium-browser", "google-chrome"),
        "chromium",
        "chromium",
        "chromium",
        for_tests=True,
    ),
    Need(
        "Redis",
        "the tests of background work cannot run",
        _has_program("redis-server"),
        "redis-server",
        "redis",
        "redis",
        for_tests=True,
    ),
    Need(
        "PostgreSQL",
        "the tests on PostgreSQL cannot run",
        _has_postgres,
        "postgresql",
        "postgresql-server",
        "postgresql",
        for_tests=True,
    ),
    Need(
        "Poppler",
        "the tests that read PDFs cannot run",
        _has_program("pdftotext"),
        "poppler-utils",
        "poppler-utils",
        "poppler",
        for_tests=True,
    ),
)


def lacking(for_tests: bool) -> list[Need]:
    """What is not on this machine, of all that running (or testing) needs."""
    return [need for need in NEEDS if (for_tests or not need.for_tests) and not need.is_there()]


def installer(os_release: str, system: str) -> str:
    """Which of apt, dnf and brew this system has, or "".

    os_release: the text of /etc/os-release; system: as platform.system() gives it.
    """
    if system == "Darwin":
        return "brew"
    fields = dict(line.split("=", 1) for line in os_release.splitlines() if "=" in line)
    kin = f"{fields.get('ID', '')} {fields.get('ID_LIKE', '')}".replace('"', "").split()
    if {"debian", "ubuntu"} & set(kin):
        return "apt"
    if {"fedora", "rhel", "centos"} & set(kin):
        return "dnf"
    return ""


def this_installer() -> str:
    try:
        os_release = Path("/etc/os-release").read_text()
    except OSError:
        os_release = ""
    return installer(os_release, platform.system())


def words_for(needs: Iterable[Need], by: str | None = None) -> str:
    """The sentences that name what is missing, what is lost without it, and the command that brings it."""
    needs = list(needs)
    by = this_installer() if by is None else by
    commands = {
        "apt": "apt-get install " + " ".join(need.apt for need in needs),
        "dnf": "dnf install " + " ".join(need.dnf for need in needs),
        "brew": "brew install " + " ".join(need.brew for need in needs),
    }
    missing = "; ".join(f"{need.name} is not installed: {need.without}" for need in needs)
    if by in commands:
        how = commands[by] if by == "brew" else f"sudo {commands[by]}"
    else:
        how = " (or) ".join(commands.values())
    return f"{missing}. To have that too: {how}"


def _is_root() -> bool:
    return os.geteuid() == 0


def install_missing(say: Say, for_tests: bool) -> None:
    """On Debian and Ubuntu, as root: install what is lacking. Elsewhere, and where that fails: go on without."""
    needs = lacking(for_tests)
    if needs and this_installer() == "apt" and _is_root():
        say(f"Installing what the system lacks: {', '.join(need.name for need in needs)}.")
        _apt_install(say, " ".join(need.apt for need in needs).split())


def install_ensurepip(say: Say, version: str) -> None:
    """Debian leaves out the part of Python that makes environments; install it where that can be done."""
    if this_installer() == "apt" and _is_root():
        say("Installing the part of Python that makes environments.")
        _apt_install(say, [f"python{version}-venv"])


def _apt_install(say: Say, packages: list[str]) -> None:
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    install = ["apt-get", "install", "--yes", "--no-install-recommends", *packages]
    done = subprocess.run(install, env=quiet, capture_output=True, text=True)
    if done.returncode:  # perhaps only because the lists of packages are old, or were never fetched
        subprocess.run(["apt-get", "update"], env=quiet, capture_output=True)
        done = subprocess.run(install, env=quiet, capture_output=True, text=True)
    if done.returncode:
        last = (done.stderr or done.stdout).strip().splitlines()[-1:]
        say(f"That could not be installed; going on without. apt-get said: {' '.join(last)}")


def environment(environ: Mapping[str, str]) -> dict[str, str]:
    """The environment to start Python in: on macOS with Homebrew's libraries where WeasyPrint will look for them."""
    fresh = dict(environ)
    if sys.platform == "darwin":
        given = fresh.get("DYLD_FALLBACK_LIBRARY_PATH")
        fresh["DYLD_FALLBACK_LIBRARY_PATH"] = ":".join([*([given] if given else []), *BREW_FOLDERS])
    return fresh
