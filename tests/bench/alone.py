"""A measurement in a process and a database of its own, which tells what it found in one line of JSON."""

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


def alone(measure: Callable[..., Any], *given: Any) -> None:
    """Set up Django on an empty, migrated database, measure, print. For `if __name__ == "__main__"`."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    print(json.dumps(measure(*given)))


def ask(module: str, *words: object) -> Any:
    """What `python -m module words` found."""
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    said = subprocess.run(
        [sys.executable, "-m", module, *map(str, words)], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    if said.returncode:
        raise RuntimeError(f"{module} failed:\n{said.stderr}")
    return json.loads(said.stdout.splitlines()[-1])
