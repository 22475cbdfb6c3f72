"""From a bare Python to a running command: what is made, what is skipped, and what is said when it cannot be."""

import ast
import fcntl
import os
import runpy
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from shop import bootstrap, machine

ROOT = Path(__file__).resolve().parent.parent
PYTHON = bootstrap.python_version()


class Started(Exception):
    """The process would have been replaced by another Python."""


@pytest.fixture
def project(tmp_path, monkeypatch):
    """A project folder with lock files and no environment; nothing outside it is touched."""
    for lock, text in (
        (bootstrap.RUN_LOCK, "django==5.2 \\\n    --hash=sha256:00\n"),
        (bootstrap.TEST_LOCK, "django==5.2 \\\n    --hash=sha256:00\npytest==9\n"),
    ):
        (tmp_path / lock).parent.mkdir(exist_ok=True)
        (tmp_path / lock).write_text(text)
    (tmp_path / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / ".venv")
    monkeypatch.setenv("LATHESIDE_DATA", str(tmp_path / "data"))
    monkeypatch.setattr(machine, "NEEDS", ())
    return tmp_path


@pytest.fixture
def steps(project, monkeypatch):
    """What set-up does, in order, with nothing of it really done."""
    done = []

    def start_again(python, argv):
        done.append(("start", Path(python).relative_to(project).as_posix(), argv[1:]))
        raise Started

    def create():
        done.append(("create",))
        python = project / ".venv" / "bin" / "python"
        python.parent.mkdir(parents=True, exist_ok=True)
        python.symlink_to(sys.executable)

    monkeypatch.setattr(bootstrap, "_start_again", start_again)
    monkeypatch.setattr(bootstrap, "_create_venv", create)
    monkeypatch.setattr(bootstrap, "_has_pip", lambda venv: bootstrap.venv_python(venv).exists())
    monkeypatch.setattr(bootstrap, "_install", lambda lock: done.append(("install", lock)))
    return done


@pytest.fixture
def bare_python(monkeypatch):
    """We run in the system's Python, which has none of the packages."""
    monkeypatch.setattr(sys, "prefix", sys.base_prefix)
    monkeypatch.setattr(bootstrap, "_is_installed", lambda name: False)


def get_ready(*words):
    bootstrap.get_ready(["manage.py", *words])


class TestFromABarePython:
    pytestmark = pytest.mark.usefixtures("bare_python")

    def test_the_first_start_makes_all_and_starts_again_inside(self, steps):
        with pytest.raises(Started):
            get_ready("demo", "--fresh")
        assert steps == [
            ("create",),
            ("install", "requirements.lock"),
            ("start", ".venv/bin/python", ["demo", "--fresh"]),
        ]

    def test_the_second_start_makes_nothing(self, steps):
        for _ in range(2):
            with pytest.raises(Started):
                get_ready("demo")
        assert steps[3:] == [("start", ".venv/bin/python", ["demo"])]

    def test_the_tests_need_more(self, steps):
        for command in ("demo", "test", "bench", "demo"):
            with pytest.raises(Started):
                get_ready(command)
        assert [step[1] for step in steps if step[0] == "install"] == ["requirements.lock", "tests/requirements.lock"]

    def test_a_changed_lock_is_installed(self, steps, project):
        with pytest.raises(Started):
            get_ready("demo")
        (project / bootstrap.RUN_LOCK).write_text("django==5.2.1\n")
        with pytest.raises(Started):
            get_ready("demo")
        assert steps[3:] == [("install", "requirements.lock"), ("start", ".venv/bin/python", ["demo"])]

    def test_an_interrupted_installation_goes_on_at_the_next_start(self, steps, monkeypatch):
        def interrupted(lock):
            raise KeyboardInterrupt

        with monkeypatch.context() as patch:
            patch.setattr(bootstrap, "_install", interrupted)
            with pytest.raises(SystemExit, match="The next start goes on from here"):
                get_ready("demo")
        with pytest.raises(Started):
            get_ready("demo")
        assert steps == [("create",), ("install", "requirements.lock"), ("start", ".venv/bin/python", ["demo"])]

    def test_a_half_made_environment_is_made_anew(self, steps, project):
        (project / ".venv" / "bin").mkdir(parents=True)
        (project / ".venv" / "bin" / "python").symlink_to(project / "gone")
        (project / ".venv" / "bin" / "python").unlink()
        with pytest.raises(Started):
            get_ready("demo")
        assert steps[0] == ("create",)

    def test_a_damaged_stamp_counts_as_none(self, steps, project):
        with pytest.raises(Started):
            get_ready("demo")
        (project / ".venv" / bootstrap.STAMP).write_text("{half")
        with pytest.raises(Started):
            get_ready("demo")
        assert ("install", "requirements.lock") in steps[3:]

    def test_a_second_start_waits_for_the_first(self, steps, project, capsys):
        other = os.open(project, os.O_RDONLY)
        fcntl.flock(other, fcntl.LOCK_EX)

        def first_one_is_done():
            (project / ".venv" / "bin").mkdir(parents=True)
            bootstrap.venv_python(project / ".venv").symlink_to(sys.executable)
            bootstrap.write_stamp(project / ".venv", for_tests=False, python=PYTHON)
            os.close(other)

        timer = threading.Timer(0.3, first_one_is_done)
        timer.start()
        with pytest.raises(Started):
            get_ready("demo")
        timer.join()
        assert steps == [("start", ".venv/bin/python", ["demo"])]
        assert "waiting for it" in capsys.readouterr().err

    def test_a_folder_that_cannot_be_written_is_named(self, steps, project, monkeypatch):
        def refused():
            raise PermissionError(13, "Permission denied", str(project / ".venv"))

        monkeypatch.setattr(bootstrap, "_create_venv", refused)
        with pytest.raises(SystemExit, match=r"\.venv cannot be written"):
            get_ready("demo")


class TestInsideOurOwnEnvironment:
    @pytest.fixture(autouse=True)
    def _inside(self, project, monkeypatch):
        (project / ".venv" / "bin").mkdir(parents=True)
        bootstrap.venv_python(project / ".venv").symlink_to(sys.executable)
        monkeypatch.setattr(sys, "prefix", str(project / ".venv"))

    def test_with_a_fitting_stamp_it_just_goes_on(self, steps, project):
        bootstrap.write_stamp(project / ".venv", for_tests=False, python=PYTHON)
        get_ready("migrate")
        assert steps == []

    def test_with_an_old_stamp_it_installs_and_starts_again(self, steps, project):
        bootstrap.write_stamp(project / ".venv", for_tests=False, python=PYTHON)
        (project / bootstrap.RUN_LOCK).write_text("django==5.2.1\n")
        with pytest.raises(Started):
            get_ready("migrate")
        assert steps == [("install", "requirements.lock"), ("start", ".venv/bin/python", ["migrate"])]

    def test_one_made_by_hand_that_has_the_packages_is_left_alone(self, steps):
        get_ready("migrate")
        get_ready("test")
        assert steps == []

    def test_one_made_by_hand_without_them_is_filled(self, steps, monkeypatch):
        monkeypatch.setattr(bootstrap, "_is_installed", lambda name: False)
        with pytest.raises(Started):
            get_ready("migrate")
        assert steps[0] == ("install", "requirements.lock")

    def test_a_replaced_python_starts_over_from_the_systems(self, project, monkeypatch):
        bootstrap.write_stamp(project / ".venv", for_tests=False, python="3.9")
        (project / bootstrap.RUN_LOCK).write_text("changed\n")
        started = []

        def start_again(python, argv):
            started.append(Path(python))
            raise Started

        monkeypatch.setattr(bootstrap, "_start_again", start_again)
        with pytest.raises(Started):
            get_ready("migrate")
        assert started == [Path(sys._base_executable)]
        assert bootstrap.stamp_of(project / ".venv") == {}


class TestInAnEnvironmentOfTheirOwn:
    """pip install -e '.[test]', wherever a person likes."""

    @pytest.fixture(autouse=True)
    def _elsewhere(self, monkeypatch, tmp_path):
        monkeypatch.setattr(sys, "prefix", str(tmp_path / "their-own"))

    def test_with_the_packages_it_is_left_alone(self, steps, project):
        get_ready("migrate")
        get_ready("test")
        assert steps == []
        assert not (project / ".venv").exists()

    def test_without_them_ours_is_made(self, steps, monkeypatch):
        monkeypatch.setattr(bootstrap, "_is_installed", lambda name: name != "waitress")
        with pytest.raises(Started):
            get_ready("migrate")
        assert steps[0] == ("create",)


def test_what_is_missing_is_told_by_the_project_file(monkeypatch):
    assert bootstrap.missing_packages(for_tests=True) == []
    monkeypatch.setattr(bootstrap, "_is_installed", lambda name: name not in ("waitress", "psycopg", "pytest"))
    assert bootstrap.missing_packages(for_tests=False) == ["psycopg", "waitress"]
    assert bootstrap.missing_packages(for_tests=True) == ["psycopg", "waitress", "pytest"]


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (
            [
                "WARNING: Retrying after connection broken by 'NewConnectionError(': Failed to establish')'",
                "ERROR: Could not find a version that satisfies the requirement django==5.2",
                "ERROR: No matching distribution found for django==5.2",
            ],
            "cannot be reached from here. Connect this machine to the network",
        ),
        (["ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE."], "not the one that was pinned"),
        (["ERROR: Could not install: [Errno 28] No space left on device"], "The disk is full"),
        (["one", "ERROR: something new"], "last words:\none\nERROR: something new"),
    ],
)
def test_why_the_installer_failed_is_said_in_words(lines, sentence):
    assert sentence in bootstrap.why_pip_failed(lines)


def test_progress_is_told_every_ten_packages():
    said = []
    tell = bootstrap._progress(25, said.append)
    for number in range(25):
        tell(f"Collecting package{number}==1.0 (from -r requirements.lock)\n")
        tell("  Using cached package.whl\n")
    tell("Installing collected packages: a, b\n")
    assert said == ["  10 of 25 found", "  20 of 25 found", "  all found; unpacking them"]


class TestDataFolder:
    @pytest.mark.parametrize(
        ("command", "named", "folder"),
        [("demo", None, "var/demo"), ("open", None, None), ("demo", "/elsewhere", "/elsewhere")],
    )
    def test_the_demo_has_one_of_its_own(self, project, monkeypatch, command, named, folder):
        monkeypatch.delenv("LATHESIDE_DATA", raising=False)
        if named:
            monkeypatch.setenv("LATHESIDE_DATA", named)
        bootstrap.keep_the_demo_apart(["manage.py", command])
        wanted = str(project / folder) if folder else None
        assert os.environ.get("LATHESIDE_DATA") == wanted

    def test_it_is_made(self, tmp_path):
        bootstrap.check_data_folder({"LATHESIDE_DATA": str(tmp_path / "a" / "b")})
        assert (tmp_path / "a" / "b").is_dir()
        assert (tmp_path / "a" / "b").stat().st_mode & 0o077 == 0  # for nobody else on the machine

    def test_a_file_in_its_place_is_said(self, tmp_path):
        (tmp_path / "a").write_text("")
        with pytest.raises(SystemExit, match=r"cannot be written.*LATHESIDE_DATA"):
            bootstrap.check_data_folder({"LATHESIDE_DATA": str(tmp_path / "a")})


def test_a_command_that_is_stopped_says_so_without_a_trace(monkeypatch, capsys):
    def stopped(argv):
        raise KeyboardInterrupt

    monkeypatch.setattr("django.core.management.execute_from_command_line", stopped)
    monkeypatch.setattr(bootstrap, "get_ready", lambda argv: None)
    with pytest.raises(SystemExit) as end:
        runpy.run_path(str(ROOT / "manage.py"))["main"](["manage.py", "check"])
    assert end.value.code == 130
    assert "Stopped" in capsys.readouterr().err


def test_without_ensurepip_it_is_said_what_to_install(monkeypatch, project):
    monkeypatch.setattr(bootstrap.importlib.util, "find_spec", lambda name: None)
    monkeypatch.setattr(machine, "this_installer", lambda: "")
    with pytest.raises(SystemExit, match=rf"apt install python{PYTHON}-venv"):
        bootstrap._create_venv()


@pytest.mark.parametrize("file", ["shop/bootstrap.py", "shop/machine.py", "shop/__init__.py", "manage.py"])
def test_what_runs_first_needs_only_the_standard_library(file):
    own = {"shop", "django"}  # manage.py comes to Django last
    for node in ast.walk(ast.parse((ROOT / file).read_text())):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        for name in names:
            assert name.partition(".")[0] in sys.stdlib_module_names | own, name


def test_an_old_python_can_read_manage_py_and_says_what_is_needed():
    source = (ROOT / "manage.py").read_text()
    ast.parse(source, feature_version=(3, 4))
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.version_info = (3, 9, 2)\n{source}"],
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert done.returncode == 1
    assert "needs Python 3.11 or newer, and this is Python 3.9" in done.stderr


def test_a_real_environment_can_be_made(project):
    bootstrap._create_venv()
    assert bootstrap._has_pip(project / ".venv")


def test_a_broken_environment_is_seen(project):
    assert not bootstrap._has_pip(project / ".venv")
    (project / ".venv" / "bin").mkdir(parents=True)
    (project / ".venv" / "bin" / "python").write_text("#!/bin/sh\nexit 1\n")
    (project / ".venv" / "bin" / "python").chmod(0o755)
    assert not bootstrap._has_pip(project / ".venv")
