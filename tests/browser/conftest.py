"""A room for the length of this folder's tests, one for every process of the run; a browser for each file."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.browser.person import Chairs, Desk
from tests.browser.room import Room, build_seed, opened
from tests.processes import once_a_run

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
HERE = Path(__file__).resolve().parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in Path(item.path).parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.sqlite)  # its room is always one; another database adds nothing here


def chromium_path() -> str:
    """The system's Chromium, or the one that the variable CHROMIUM names; empty where there is none."""
    names = (os.environ.get("CHROMIUM"), "chromium", "chromium-browser", "google-chrome")
    return next((path for name in names if name and (path := shutil.which(name))), "")


@pytest.fixture(scope="session")
def seed(tmp_path_factory: pytest.TempPathFactory, migrated: Path) -> Path:
    """The images, built by whichever process of the run comes first."""
    return once_a_run(tmp_path_factory, "browser-seed", lambda folder: build_seed(folder, migrated))


@pytest.fixture(scope="package")
def room(seed: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with opened(tmp_path_factory.mktemp("browser-room"), seed) as served:
        yield served


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    path = chromium_path()
    if not path:
        pytest.skip("Chromium is not installed")
    # Playwright keeps an event loop in this thread, in which Django would refuse its database to other tests: so it
    # ends with the file.
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def chairs(chromium: Browser) -> Iterator[Chairs]:
    chairs = Chairs()
    yield chairs
    chairs.end()


@pytest.fixture
def desk(room: Room, chromium: Browser, chairs: Chairs) -> Iterator[Desk]:
    """Where people sit down with their browsers; at the end it must have heard of nothing amiss."""
    desk = Desk(room, chromium, chairs)
    yield desk
    desk.leave()
    chairs.leave()
    assert desk.amiss == []


@pytest.fixture
def morning(room: Room) -> Room:
    """The room before the check."""
    room.put_back("morning")
    return room


@pytest.fixture
def day(room: Room) -> Room:
    """The room with the check signed."""
    room.put_back("day")
    return room


@pytest.fixture
def bare(room: Room) -> Room:
    """A room just opened: starter lists, an owner, and nothing else."""
    room.put_back("bare")
    return room


def pytest_make_parametrize_id(config: pytest.Config, val: Any, argname: str) -> str | None:
    return f"{val[0]}x{val[1]}" if argname == "size" and isinstance(val, tuple) else None
