"""Running a tool the way a person would, and failing with what it said."""

import subprocess
import sys

from tests.house.files import ROOT
from tests.services.conftest import environment


def passes(*words: str, **variables: str) -> None:
    """`python -m <words>` in the project's folder ends well."""
    done = subprocess.run(
        [sys.executable, "-m", *words],
        cwd=ROOT,
        env=environment(**variables),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-8000:]
