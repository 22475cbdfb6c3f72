"""A room that asks its own list, and two who answer."""

import pytest

from tests.morning.makers import make_list, room_in_order


@pytest.fixture
def asked(engineer, at):
    with at("2025-03-03 08:05"):
        room_in_order(engineer)
        yield make_list(engineer)


@pytest.fixture
def hands(asked, assistant, client_of):
    return client_of(assistant)


@pytest.fixture
def desk(asked, engineer, client_of):
    return client_of(engineer)
