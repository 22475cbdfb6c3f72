"""With CI set, a skipped test is a failure, and so is a module that leaves itself out."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests import conftest
from tests.house.files import ROOT
from tests.processes import environment

SKIPS = """
import pytest

def test_runs():
    pass

@pytest.mark.skip(reason="no time")
def test_marked():
    pass

def test_midway():
    pytest.skip("the tool is missing")

@pytest.mark.xfail(reason="known", strict=True)
def test_known():
    raise AssertionError
"""
LEFT_OUT = """
import pytest

pytest.importorskip("a_package_that_nobody_has")
"""


def test_in_ci_a_skipped_test_and_a_module_left_out_are_failures(tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_text("from tests.conftest import *")
    (tmp_path / "test_skips.py").write_text(SKIPS)
    (tmp_path / "test_left_out.py").write_text(LEFT_OUT)
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-n0", "-q", "-rfE", "-c", "pyproject.toml",
         "--rootdir", str(ROOT), "--continue-on-collection-errors", str(tmp_path)],
        cwd=ROOT,
        env=environment(CI="1"),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )  # fmt: skip
    assert done.returncode == 1, done.stdout[-4000:]
    assert done.stdout.count("With CI set a skipped test is a failure.") >= 3
    for reason in ("no time", "the tool is missing", "a_package_that_nobody_has"):
        assert reason in done.stdout
    assert "1 failed, 1 passed, 1 xfailed, 2 errors" in done.stdout
    assert "skipped" not in done.stdout.splitlines()[-1]


@pytest.mark.parametrize(("ci", "outcome"), [(False, "skipped"), (True, "failed")])
def test_elsewhere_a_skip_stays_one(monkeypatch: pytest.MonkeyPatch, ci: bool, outcome: str) -> None:
    monkeypatch.setattr(conftest, "CI", ci)
    report = pytest.TestReport(
        nodeid="t",
        location=("t.py", 1, "t"),
        keywords={},
        outcome="skipped",
        longrepr=("t.py", 1, "no time"),
        when="call",
    )
    looked = conftest.pytest_runtest_makereport()
    next(looked)
    with pytest.raises(StopIteration) as ended:
        looked.send(report)
    assert ended.value.value.outcome == outcome
