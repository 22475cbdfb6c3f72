import threading
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.utils import timezone

from shop import clock


def test_now_is_the_present_in_utc():
    assert abs(clock.now() - datetime.now(UTC)) < timedelta(seconds=5)
    assert clock.now().utcoffset() == timedelta(0)


def test_now_follows_the_clock_of_the_machine_wherever_that_is_set():
    """The real clock, which all others of ours are measured by: of a machine that was set right, or slept for days."""
    before = datetime(2031, 12, 31, 10, 59, tzinfo=UTC)
    with clock.in_zone("Pacific/Auckland"), time_machine.travel(before) as machine:
        assert before <= clock.now() < before + timedelta(seconds=30)
        assert clock.today() == date(2031, 12, 31)
        machine.move_to(before + timedelta(minutes=1), tick=False)  # midnight there
        assert clock.now() == before + timedelta(minutes=1)
        assert clock.today() == date(2032, 1, 1)
        with clock.moved(datetime(2025, 3, 3, 8, 10, tzinfo=UTC)):  # a moved one stands where it was put
            machine.shift(timedelta(days=9))
            assert clock.now() == datetime(2025, 3, 3, 8, 10, tzinfo=UTC)
        assert clock.today() == date(2032, 1, 10)


def test_moved_changes_now_and_gives_it_back():
    then = datetime(2025, 3, 3, 8, 10, tzinfo=UTC)
    with clock.moved(then):
        assert clock.now() == then
        with clock.moved(then + timedelta(days=1)):
            assert clock.now() == then + timedelta(days=1)
        assert clock.now() == then
    assert clock.now() != then


def test_moved_gives_the_clock_back_after_an_error():
    with pytest.raises(KeyError), clock.moved(datetime(2025, 3, 3, tzinfo=UTC)):
        raise KeyError
    assert clock.now().year != 2025


def test_moved_refuses_a_naive_moment():
    with pytest.raises(ValueError, match="aware"), clock.moved(datetime(2025, 3, 3)):  # noqa: DTZ001
        pass


def test_another_thread_keeps_its_own_time():
    seen = []
    with clock.moved(datetime(2025, 3, 3, tzinfo=UTC)):
        thread = threading.Thread(target=lambda: seen.append(clock.now()))
        thread.start()
        thread.join()
    assert seen[0].year != 2025


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("Pacific/Auckland", date(2025, 7, 2)),
        ("UTC", date(2025, 7, 1)),
        ("America/St_Johns", date(2025, 7, 1)),
    ],
)
def test_today_is_the_day_of_the_zone(zone, day):
    with clock.in_zone(zone), clock.moved(datetime(2025, 7, 1, 13, 0, tzinfo=UTC)):
        assert clock.today() == day
        assert clock.day_of(clock.now()) == day


@pytest.mark.parametrize(
    ("day", "hours"),
    [(date(2025, 3, 30), 23), (date(2025, 7, 1), 24), (date(2025, 10, 26), 25)],
)
def test_a_day_has_as_many_hours_as_the_zone_gives_it(day, hours):
    with clock.in_zone("Europe/Lisbon"):
        start, end = clock.day_bounds(day)
    assert end.astimezone(UTC) - start.astimezone(UTC) == timedelta(hours=hours)
    assert timezone.is_aware(start)


@pytest.mark.parametrize("name", ["Europe/Lisbon", "Etc/GMT+1", "UTC", "America/Sao_Paulo"])
def test_the_active_zone_is_named_as_it_is_found(name):
    with clock.in_zone(name):
        assert clock.zone_name() == name


@pytest.mark.parametrize(
    ("zone", "local", "before", "after"),
    [
        # The dates and times are those of the IANA zone database
        ("Europe/London", "2026-10-25T01:30", "02:00", "01:00"),
        ("Europe/London", "2026-10-25T01:00", "02:00", "01:00"),
        ("Europe/London", "2026-03-29T01:30", "01:00", "02:00"),
        ("Australia/Lord_Howe", "2026-04-05T01:45", "02:00", "01:30"),
        ("America/New_York", "2026-11-01T01:59:59", "02:00", "01:00"),
    ],
)
def test_what_the_clocks_showed_as_they_were_changed(zone, local, before, after):
    with clock.in_zone(zone):
        change = clock.change_at(datetime.fromisoformat(local))
    assert change is not None
    assert [f"{moment:%H:%M:%S}" for moment in change] == [f"{before}:00", f"{after}:00"]


@pytest.mark.parametrize("local", ["2026-10-25T00:59", "2026-10-25T02:00", "2026-03-29T02:00", "2026-07-01T12:00"])
def test_a_time_that_came_once_was_changed_by_no_clock(local):
    with clock.in_zone("Europe/London"):
        assert clock.change_at(datetime.fromisoformat(local)) is None
        assert clock.both_of(datetime.fromisoformat(local)) is None


def test_the_repeated_hour_is_two_moments_an_hour_apart():
    with clock.in_zone("Europe/London"):
        both = clock.both_of(datetime.fromisoformat("2026-10-25T01:30"))
        assert clock.both_of(datetime.fromisoformat("2026-03-29T01:30")) is None
    assert both is not None
    assert [moment.astimezone(UTC).hour for moment in both] == [0, 1]
