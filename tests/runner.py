"""`python3 manage.py test` runs pytest, in the way Django documents for other test runners.

What follows `test` goes to pytest: manage.py puts a `--` before it, and Django's command takes none of it.
"""

from collections.abc import Sequence
from typing import Any

#: Words after which the run is one process: somebody wants to look, or has chosen the number.
_ONE_PROCESS = (
    "-n",
    "--numprocesses",
    "--pdb",
    "--trace",
    "--co",
    "--help",
    "-h",
    "--version",
    "--fixtures",
    "-s",
)


class PytestRunner:
    """Runs the suite, or the named files, folders and pytest ids, on two processes unless told otherwise."""

    def __init__(self, **options: Any) -> None:
        """Django's own options (verbosity, interactive) have no meaning here."""

    def run_tests(self, words: Sequence[str], **options: Any) -> int:
        """The exit code is pytest's; 0 means that all passed."""
        import pytest

        chosen = list(words)
        if not any(word.startswith(_ONE_PROCESS) for word in chosen):
            chosen = ["-n", "2", "--dist", "worksteal", *chosen]
        return int(pytest.main(chosen))
