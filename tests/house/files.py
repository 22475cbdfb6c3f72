"""The files of the project, as somebody who fetched it has them."""

import os
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
#: What tools and runs leave behind; .gitignore names them too.
_LEFT_BEHIND = {
    *(".git", ".venv", "var", "__pycache__", ".pytest_cache", ".mypy_cache", ".ruff_cache", ".hypothesis"),
    *(".import_linter_cache", ".migrated", "build", "dist"),
}


def project_files(*kinds: str) -> Iterator[Path]:
    """Every file whose name ends with one of `kinds` (with any, if none is given)."""
    for folder, folders, names in os.walk(ROOT):
        folders[:] = sorted(name for name in folders if name not in _LEFT_BEHIND and not name.endswith(".egg-info"))
        for name in sorted(set(names) - _LEFT_BEHIND):
            if not kinds or name.endswith(kinds):
                yield Path(folder, name)


def text_files() -> Iterator[tuple[str, str]]:
    """Path within the project, and text, of every file that is text."""
    for path in project_files():
        try:
            yield path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a picture
