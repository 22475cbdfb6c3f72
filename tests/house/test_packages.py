"""What the project file asks for is what the lock files pin, each with its hashes and from nowhere in particular."""

import re
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.house.files import ROOT

RUN, TEST = "requirements.lock", "tests/requirements.lock"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]


def pins(lock):
    """Pinned versions by package, from a lock file."""
    found = re.findall(r"^([\w.\[\],-]+)==(\S+)", (ROOT / lock).read_text(), re.MULTILINE)
    return {canonicalize_name(name.partition("[")[0]): version for name, version in found}


@pytest.mark.parametrize("wanted", PROJECT["dependencies"])
def test_what_is_needed_to_run_is_pinned(wanted):
    asked = Requirement(wanted)
    assert asked.specifier.contains(pins(RUN)[canonicalize_name(asked.name)])


@pytest.mark.parametrize("wanted", PROJECT["optional-dependencies"]["test"])
def test_what_is_needed_to_test_is_pinned(wanted):
    asked = Requirement(wanted)
    assert asked.specifier.contains(pins(TEST)[canonicalize_name(asked.name)])


def test_the_tests_run_with_what_a_room_runs_with():
    assert pins(RUN).items() <= pins(TEST).items()


@pytest.mark.parametrize("lock", [RUN, TEST])
def test_every_pin_has_its_hashes(lock):
    blocks = re.split(r"^(?=\S+==)", (ROOT / lock).read_text(), flags=re.MULTILINE)[1:]
    assert len(blocks) > 50
    for block in blocks:
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", block), block[:80]


@pytest.mark.parametrize("lock", [RUN, TEST])
def test_a_lock_names_no_address(lock):
    text = (ROOT / lock).read_text()
    assert "://" not in text
    assert not re.search(r"^\s*(?:--index|--extra-index|-i\s|--find-links|-f\s|--trusted)", text, re.MULTILINE)
