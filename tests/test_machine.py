"""What the machine lacks is seen, installed where that may be done, and named where not."""

import subprocess

import pytest

from shop import machine
from shop.machine import NEEDS, Need

DEBIAN = 'PRETTY_NAME="Debian GNU/Linux 12 (bookworm)"\nID=debian\nVERSION_ID="12"\n'
UBUNTU = 'NAME="Ubuntu"\nID=ubuntu\nID_LIKE=debian\n'
MINT = 'ID=linuxmint\nID_LIKE="ubuntu debian"\n'
FEDORA = 'NAME="Fedora Linux"\nID=fedora\n'
ALMA = 'ID="almalinux"\nID_LIKE="rhel centos fedora"\n'
ARCH = "ID=arch\n"


@pytest.mark.parametrize(
    ("os_release", "system", "expected"),
    [
        (DEBIAN, "Linux", "apt"),
        (UBUNTU, "Linux", "apt"),
        (MINT, "Linux", "apt"),
        (FEDORA, "Linux", "dnf"),
        (ALMA, "Linux", "dnf"),
        (ARCH, "Linux", ""),
        ("", "Linux", ""),
        ("# a comment\n\n", "Linux", ""),
        ("", "Darwin", "brew"),
    ],
)
def test_which_installer_a_system_has(os_release, system, expected):
    assert machine.installer(os_release, system) == expected


@pytest.fixture
def lacking(monkeypatch):
    """A machine that lacks one thing to run with and one to test with."""
    needs = (
        Need("Pango", "PDFs cannot be made", lambda: False, "libpango-1.0-0 libpangoft2-1.0-0", "pango", "pango"),
        Need("a font", "PDFs have no letters", lambda: True, "fonts-x", "fonts-x", "fonts-x"),
        Need("Redis", "some tests cannot run", lambda: False, "redis-server", "redis", "redis", for_tests=True),
    )
    monkeypatch.setattr(machine, "NEEDS", needs)
    return needs


def test_what_tests_need_is_no_matter_to_a_room(lacking):
    assert [need.name for need in machine.lacking(for_tests=False)] == ["Pango"]
    assert [need.name for need in machine.lacking(for_tests=True)] == ["Pango", "Redis"]


@pytest.mark.parametrize(
    ("by", "command"),
    [
        ("apt", "sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 redis-server"),
        ("dnf", "sudo dnf install pango redis"),
        ("brew", ": brew install pango redis"),
    ],
)
def test_what_is_missing_is_named_with_the_command_that_brings_it(lacking, by, command):
    words = machine.words_for(machine.lacking(for_tests=True), by)
    assert "Pango is not installed: PDFs cannot be made" in words
    assert "Redis is not installed" in words
    assert command in words


def test_on_an_unknown_system_all_three_commands_are_named(lacking):
    words = machine.words_for(machine.lacking(for_tests=False), "")
    assert all(word in words for word in ("apt-get install", "dnf install", "brew install"))


@pytest.fixture
def apt(monkeypatch):
    """Records the commands that would be run; `apt.codes` are the exit codes they get, 0 after those."""

    class Apt(list):
        codes: list[int] = []

    ran = Apt()

    def run(command, **options):
        ran.append((command, options.get("env", {})))
        code = ran.codes.pop(0) if ran.codes else 0
        return subprocess.CompletedProcess(command, code, stdout="", stderr="Reading lists\nE: no such package")

    monkeypatch.setattr(machine.subprocess, "run", run)
    return ran


@pytest.fixture
def said():
    return []


class TestInstalling:
    @pytest.fixture(autouse=True)
    def _debian_as_root(self, monkeypatch):
        monkeypatch.setattr(machine, "this_installer", lambda: "apt")
        monkeypatch.setattr(machine, "_is_root", lambda: True)

    def test_as_root_on_debian_what_lacks_is_installed(self, lacking, apt, said):
        machine.install_missing(said.append, for_tests=True)
        ((command, environment),) = apt
        assert command[:2] == ["apt-get", "install"]
        assert command[-3:] == ["libpango-1.0-0", "libpangoft2-1.0-0", "redis-server"]
        assert environment["DEBIAN_FRONTEND"] == "noninteractive"
        assert said == ["Installing what the system lacks: Pango, Redis."]

    def test_old_package_lists_are_fetched_and_it_is_tried_again(self, lacking, apt, said):
        apt.codes = [100, 0, 0]
        machine.install_missing(said.append, for_tests=False)
        assert [command[1] for command, _ in apt] == ["install", "update", "install"]
        assert len(said) == 1

    def test_where_it_cannot_be_installed_it_goes_on_and_says_so(self, lacking, apt, said):
        apt.codes = [100, 100, 100]
        machine.install_missing(said.append, for_tests=False)
        assert said[-1].endswith("going on without. apt-get said: E: no such package")

    def test_nothing_is_run_where_nothing_lacks(self, monkeypatch, apt, said):
        monkeypatch.setattr(machine, "NEEDS", ())
        machine.install_missing(said.append, for_tests=True)
        assert apt == said == []

    def test_others_than_root_install_nothing(self, lacking, apt, said, monkeypatch):
        monkeypatch.setattr(machine, "_is_root", lambda: False)
        machine.install_missing(said.append, for_tests=True)
        machine.install_ensurepip(said.append, "3.11")
        assert apt == said == []

    def test_elsewhere_nothing_is_installed(self, lacking, apt, said, monkeypatch):
        monkeypatch.setattr(machine, "this_installer", lambda: "dnf")
        machine.install_missing(said.append, for_tests=True)
        assert apt == said == []

    def test_the_part_that_makes_environments_is_that_of_this_python(self, apt, said):
        machine.install_ensurepip(said.append, "3.13")
        assert apt[0][0][-1] == "python3.13-venv"


def test_a_library_that_is_there_and_one_that_is_not():
    assert not machine._has_library("no-such-library:0")
    assert not machine._has_library("no-such-library:0", "c:6")


def test_a_program_that_is_there_and_one_that_is_not():
    assert machine._has_program("no-such-program", "sh")()
    assert not machine._has_program("no-such-program")()


def test_on_macos_homebrews_libraries_are_found(monkeypatch):
    monkeypatch.setattr(machine.sys, "platform", "darwin")
    assert machine.environment({"A": "b"})["DYLD_FALLBACK_LIBRARY_PATH"] == "/opt/homebrew/lib:/usr/local/lib"
    given = machine.environment({"DYLD_FALLBACK_LIBRARY_PATH": "/mine"})["DYLD_FALLBACK_LIBRARY_PATH"]
    assert given == "/mine:/opt/homebrew/lib:/usr/local/lib"


def test_elsewhere_the_environment_is_left_as_it_is(monkeypatch):
    monkeypatch.setattr(machine.sys, "platform", "linux")
    assert machine.environment({"A": "b"}) == {"A": "b"}


def test_every_need_says_what_is_lost_and_how_to_get_it():
    for need in NEEDS:
        assert need.without
        assert need.apt
        assert need.dnf
        assert need.brew
