"""A Monday morning, and a weekly duty."""

import pytest

from shop.duties.rules import WantedStep
from tests.duties.makers import make_duty, read_step


@pytest.fixture
def monday(room_row, at):
    """It is ten past nine on Monday, 3 March 2025."""
    with at("2025-03-03 09:10"):
        yield


@pytest.fixture
def weekly(engineer):
    """Two steps, of which the second reads a gauge."""
    return make_duty(engineer, steps=(WantedStep("Wipe"), read_step()))
