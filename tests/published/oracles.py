"""Reference libraries that warn while they are imported or run; everywhere else a warning fails the test."""

import importlib
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def quietly() -> Iterator[None]:
    """Let other people's libraries warn about their own affairs inside this block."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


def oracle(name: str) -> Any:
    """The module of that dotted name, imported quietly."""
    with quietly():
        return importlib.import_module(name)
