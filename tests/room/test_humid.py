"""Humid days are counted once each, under the name of who read them first."""

import pytest

from shop.duties.models import Meter, Tick
from shop.room.humid import count_humid_days
from tests.duties.makers import make_meter
from tests.makers import moment
from tests.room.makers import set_limit, take


@pytest.fixture(autouse=True)
def monday(room_row, at):
    with at("2025-03-03 08:00"):
        yield


def humid():
    return Meter.objects.get(key="humid").value


def test_a_humid_day_counts_once_however_often_it_is_read(assistant, engineer, at):
    make_meter("humid")
    set_limit("room_rh", care_above=65.0)
    take(assistant, room_rh=70.0)
    with at("2025-03-03 14:00"):
        take(engineer, room_rh=72.0)
        assert count_humid_days() == "1 counted"
        assert count_humid_days() == "0 counted"
    tick = Tick.objects.get()
    assert (humid(), tick.by, tick.at) == (1, assistant, moment("2025-03-03 08:00"))
    with at("2025-03-04 08:00"):
        take(assistant, room_rh=64.0)
        assert count_humid_days() == "0 counted"
    with at("2025-03-05 08:00"):
        take(assistant, room_rh=65.0)
        count_humid_days()
    assert humid() == 2


def test_a_machine_that_was_off_counts_the_days_that_were_read_meanwhile(assistant, at):
    make_meter("humid")
    for day in (3, 4, 6):
        with at(f"2025-03-{day:02} 08:00"):
            take(assistant, room_rh=66.0)
    with at("2025-03-10 09:00"):
        assert count_humid_days() == "3 counted"
    assert humid() == 3


def test_without_a_limit_a_day_is_humid_from_sixty_percent_on(assistant):
    make_meter("humid")
    take(assistant, room_rh=59.0)
    assert count_humid_days() == "0 counted"


def test_a_room_that_counts_none_counts_none(assistant):
    take(assistant, room_rh=80.0)
    assert count_humid_days() == "this room counts none"
