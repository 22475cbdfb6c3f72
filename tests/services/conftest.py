"""Services for the length of a test file, and commands run as they would be in a room that uses them."""

from collections.abc import Callable, Iterator

import pytest

from tests.processes import environment, run_here
from tests.services import servers


@pytest.fixture(scope="module")
def postgresql() -> Iterator[str]:
    with servers.postgresql() as address:
        yield address


@pytest.fixture(scope="module")
def redis() -> Iterator[str]:
    with servers.redis() as address:
        yield address


@pytest.fixture
def letterbox() -> Iterator[servers.Letterbox]:
    with servers.smtp() as box:
        yield box


@pytest.fixture
def run_python() -> Callable[..., str]:
    """`run_python([arguments], NAME=value)`: a Python started in the project's folder; gives what it printed."""

    return lambda arguments, **variables: run_here(arguments, environment(**variables))
