"""From a machine that has only Python to one that can run any command of manage.py.

Standard library only. Makes `.venv` beside manage.py, installs the pinned and hashed packages into it, sees to the
system's own libraries, and starts the same command again inside it. A stamp of the lock file makes the next start
skip all that. Somebody who works in an environment of their own that has the packages is left alone.
"""

import fcntl
import hashlib
import importlib
import importlib.util
import json
import os
import re
import subprocess
import sys
import tomllib
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from importlib import metadata
from pathlib import Path

from shop import machine

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
RUN_LOCK = "requirements.lock"
TEST_LOCK = "tests/requirements.lock"
#: Commands that need the test packages.
FOR_TESTS = ("test", "bench", "pictures")
#: Commands before which it is said what the machine lacks.
LOUD = ("demo", "open", "serve", *FOR_TESTS)


def is_for_tests(argv: list[str]) -> bool:
    return argv[1:2] != [] and argv[1] in FOR_TESTS


def keep_the_demo_apart(argv: list[str]) -> None:
    """Give the demo a data folder of its own, unless one is named, so that a real room can be opened beside it."""
    if argv[1:2] == ["demo"]:
        os.environ.setdefault("LATHESIDE_DATA", str(ROOT / "var" / "demo"))


def say(sentence: str) -> None:
    """Progress goes to standard error: some commands' output is read by another program."""
    print(sentence, file=sys.stderr, flush=True)


def get_ready(argv: list[str]) -> None:
    """Return once this process can run the command `argv` (as sys.argv); may start it anew inside `.venv` instead.

    Ends the program with a sentence where that cannot be.
    """
    for_tests = is_for_tests(argv)
    at_home = Path(sys.prefix) == VENV
    if at_home and not stamp_fits(VENV, for_tests):
        if stamp_of(VENV).get("python", python_version()) != python_version():
            (VENV / STAMP).unlink()  # Python was replaced underneath it: its packages are for another one
            _start_again(Path(sys._base_executable), argv)  # type: ignore[attr-defined]
        if stamp_of(VENV) or missing_packages(for_tests):
            _make_environment(argv, for_tests)
    elif not at_home and (missing_packages(for_tests) or sys.prefix == sys.base_prefix):
        if not (stamp_fits(VENV, for_tests) and venv_python(VENV).exists()):
            _make_environment(argv, for_tests)
        _start_again(venv_python(VENV), argv)
    if argv[1:2] and argv[1] in LOUD:
        _name_what_the_machine_lacks(for_tests)
    if not for_tests:
        check_data_folder(os.environ)


# The stamp ------------------------------------------------------------------------------------------------------------

STAMP = "installed.json"


def python_version() -> str:
    return f"{sys.version_info[0]}.{sys.version_info[1]}"


def fingerprint(lock: str) -> str:
    return hashlib.sha256((ROOT / lock).read_bytes()).hexdigest()


def stamp_of(venv: Path) -> dict[str, str]:
    """What was last wholly installed into `venv`: by lock file its SHA-256, and "python"; empty if nothing was."""
    try:
        stamp = json.loads((venv / STAMP).read_text())
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def stamp_fits(venv: Path, for_tests: bool) -> bool:
    """Whether `venv` holds what the lock files name today."""
    lock = TEST_LOCK if for_tests else RUN_LOCK
    return stamp_of(venv).get(lock) == fingerprint(lock)


def write_stamp(venv: Path, for_tests: bool, python: str) -> None:
    """The test packages include those to run, so they count for both."""
    locks = (RUN_LOCK, TEST_LOCK) if for_tests else (RUN_LOCK,)
    fresh = venv / f"{STAMP}.{os.getpid()}"
    fresh.write_text(json.dumps({"python": python, **{lock: fingerprint(lock) for lock in locks}}))
    fresh.replace(venv / STAMP)


def missing_packages(for_tests: bool) -> list[str]:
    """The packages pyproject.toml names that this Python does not have."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = list(project["dependencies"])
    if for_tests:
        wanted += project["optional-dependencies"]["test"]
    names = [match[0] for line in wanted if (match := re.match(r"[A-Za-z0-9._-]+", line))]
    return [name for name in names if not _is_installed(name)]


def _is_installed(name: str) -> bool:
    try:
        metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return False
    return True


# The environment ------------------------------------------------------------------------------------------------------


def venv_python(venv: Path) -> Path:
    return venv / "bin" / "python"


def _start_again(python: Path, argv: list[str]) -> None:
    os.execve(python, [str(python), str(ROOT / "manage.py"), *argv[1:]], machine.environment(os.environ))


def _make_environment(argv: list[str], for_tests: bool) -> None:
    """Make or mend `.venv`, then start again inside it. One process at a time; the others wait and find it done."""
    try:
        with _alone():
            if not stamp_fits(VENV, for_tests) or not venv_python(VENV).exists():
                machine.install_missing(say, for_tests)
                if not _has_pip(VENV):
                    _create_venv()
                _install(TEST_LOCK if for_tests else RUN_LOCK)
                version = _output([str(venv_python(VENV)), "-c", "import sys; print('%d.%d' % sys.version_info[:2])"])
                write_stamp(VENV, for_tests, version.strip())
    except KeyboardInterrupt:
        sys.exit("\nSet-up was interrupted. The next start goes on from here.")
    except PermissionError as refused:
        sys.exit(f"{refused.filename or ROOT} cannot be written. Let this user write it, then start again.")
    _start_again(venv_python(VENV), argv)


@contextmanager
def _alone() -> Iterator[None]:
    """Hold the set-up for this process; a lock on the project's own folder, so that no file is left behind."""
    folder = os.open(ROOT, os.O_RDONLY)
    try:
        try:
            fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Another start is setting up just now; waiting for it.")
            fcntl.flock(folder, fcntl.LOCK_EX)
        yield
    finally:
        os.close(folder)


def _output(command: list[str]) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def _has_pip(venv: Path) -> bool:
    """Whether `venv` is whole enough to install into; an interrupted start leaves one that is not."""
    try:
        _output([str(venv_python(venv)), "-m", "pip", "--version"])
    except (OSError, subprocess.CalledProcessError):
        return False
    return True


def _create_venv() -> None:
    if importlib.util.find_spec("ensurepip") is None:
        machine.install_ensurepip(say, python_version())
        importlib.invalidate_caches()
    if importlib.util.find_spec("ensurepip") is None:
        sys.exit(
            f"This Python cannot make environments: its ensurepip is missing. Install it (Debian, Ubuntu: "
            f"apt install python{python_version()}-venv) and start again."
        )
    say(f"Making an environment for Latheside's packages in {VENV}.")
    python = getattr(sys, "_base_executable", sys.executable)
    made = subprocess.run([python, "-m", "venv", "--clear", str(VENV)], capture_output=True, text=True)
    if made.returncode:
        sys.exit(f"The environment could not be made. Python said:\n{(made.stdout + made.stderr).strip()}")


def _install(lock: str) -> None:
    """Install what `lock` names, each package checked against its hash; if that fails, end with a sentence."""
    total = len(re.findall(r"^\S+==", (ROOT / lock).read_text(), re.MULTILINE))
    say(f"Installing {total} packages. This happens once and takes a minute or two.")
    command = [str(venv_python(VENV)), "-m", "pip", "install", "--no-input", "--disable-pip-version-check"]
    command += ["--progress-bar", "off", "--retries", "2", "--require-hashes", "-r", str(ROOT / lock)]
    pip = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    heard = deque[str](maxlen=400)
    assert pip.stdout is not None
    with pip:
        tell = _progress(total, say)
        for line in pip.stdout:
            heard.append(line.rstrip())
            tell(line)
    if pip.returncode:
        sys.exit(why_pip_failed(list(heard)))
    say("The packages are in place.")


def _progress(total: int, say: Callable[[str], None]) -> Callable[[str], None]:
    """A listener to pip's lines that says how far it is, every ten packages."""
    found = 0

    def tell(line: str) -> None:
        nonlocal found
        if line.startswith(("Collecting ", "Processing ", "Requirement already satisfied")):
            found += 1
            if found % 10 == 0:
                say(f"  {found} of {total} found")
        elif line.startswith("Installing collected packages"):
            say("  all found; unpacking them")

    return tell


def why_pip_failed(lines: list[str]) -> str:
    """What to tell the person, from what pip printed."""
    heard = "\n".join(lines)
    if "No space left on device" in heard:
        return "The disk is full: the packages need about 1 GB. Make room and start again."
    if "DO NOT MATCH THE HASHES" in heard:
        return (
            "A package is not the one that was pinned and checked, so nothing of it was installed. Start again; if it "
            "stays so, do not use that package source."
        )
    trouble = r"NewConnectionError|NameResolutionError|ConnectTimeout|ReadTimeout|ProxyError|SSLError|unreachable"
    if re.search(trouble, heard):
        return (
            "The packages could not be fetched: the package index cannot be reached from here. Connect this machine "
            "to the network and start again; what was already fetched is kept."
        )
    return "The packages could not be installed. The installer's last words:\n" + "\n".join(lines[-12:])


# What a person should know before the command starts -----------------------------------------------------------------


def _name_what_the_machine_lacks(for_tests: bool) -> None:
    lacking = machine.lacking(for_tests)
    if lacking:
        say(machine.words_for(lacking))


def check_data_folder(environ: Mapping[str, str]) -> None:
    """End the program with a sentence if the data folder cannot be written."""
    folder = Path(environ.get("LATHESIDE_DATA") or ROOT / "var").resolve()
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        writable = os.access(folder, os.W_OK | os.X_OK)
    except OSError:
        writable = False
    if not writable:
        sys.exit(
            f"The data folder {folder} cannot be written. Let this user write it, or name another in the variable "
            "LATHESIDE_DATA, and start again."
        )
