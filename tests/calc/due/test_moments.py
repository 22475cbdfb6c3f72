"""The hour of a day by the wall clock: every zone, every change of clocks, gaps and repeats."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest

from shop.calc.due import Calendar, by_rule, day_in, end_of, moment_of, zone_of

FIRST, LAST = date(2024, 1, 1), date(2030, 12, 31)


def changes(zone: str) -> list[date]:
    """The days of 2024 to 2030 at whose noon the clocks differ from the noon before."""
    info = ZoneInfo(zone)
    noons = [datetime.combine(FIRST + timedelta(days=n), time(12), info) for n in range((LAST - FIRST).days + 1)]
    offsets = [noon.utcoffset() for noon in noons]
    return [noons[n].date() for n in range(1, len(noons)) if offsets[n] != offsets[n - 1]]


def test_a_daily_duty_at_eight_fires_once_a_local_day_across_every_change_in_every_zone():
    seen = 0
    for zone in sorted(available_timezones()):
        daily = Calendar("FREQ=DAILY", FIRST, time(8), zone)
        for change in changes(zone):
            days = [change + timedelta(days=n) for n in range(-3, 4)]
            fired = [by_rule(daily, day - timedelta(days=1), late_days=0) for day in days]
            assert [due.day for due in fired if due] == days, (zone, change)
            assert [day_in(due.at, zone) for due in fired if due] == days, (zone, change)
            shown = {due.at.astimezone(ZoneInfo(zone)).time() for due in fired if due}
            assert shown == {time(8)}, (zone, change)
            seen += 1
    assert seen > 1000, "the machine's zones hold hardly any change of clocks"


@pytest.mark.parametrize("hour", [time(0), time(0, 30), time(1, 30), time(2), time(2, 30), time(3), time(23, 30)])
def test_at_any_hour_it_fires_once_a_day_and_in_order(hour):
    """Also at hours that are skipped or come twice. Only an hour skipped across midnight may move a day on."""
    for zone in ("Europe/London", "America/New_York", "Africa/Cairo", "America/Santiago", "Australia/Lord_Howe"):
        moments = [moment_of(FIRST + timedelta(days=n), hour, zone) for n in range(800)]
        assert moments == sorted(set(moments))
        assert [day_in(moment, zone) for moment in moments] == [FIRST + timedelta(days=n) for n in range(800)]


@pytest.mark.parametrize(
    ("zone", "day", "at", "expected"),
    [
        # a gap is reckoned with the offset before it: 02:30 is shown as 03:30
        ("Europe/Berlin", date(2025, 3, 30), time(2, 30), "2025-03-30T01:30:00+00:00"),
        ("America/New_York", date(2025, 3, 9), time(2, 30), "2025-03-09T07:30:00+00:00"),
        # of a time that comes twice, the first
        ("Europe/Berlin", date(2025, 10, 26), time(2, 30), "2025-10-26T00:30:00+00:00"),
        ("America/New_York", date(2025, 11, 2), time(1, 30), "2025-11-02T05:30:00+00:00"),
        # clocks that change by half an hour, and at midnight
        ("Australia/Lord_Howe", date(2025, 10, 5), time(2, 15), "2025-10-04T15:45:00+00:00"),
        ("Africa/Cairo", date(2025, 4, 25), time(0), "2025-04-24T22:00:00+00:00"),
    ],
)
def test_gaps_and_repeats_are_read_as_rfc_5545_says(zone, day, at, expected):
    """RFC 5545, 3.3.5: "before the gap", "the first occurrence"."""
    assert moment_of(day, at, zone).isoformat() == expected


def test_a_day_the_calendar_skipped_falls_on_the_moment_of_the_next():
    """Samoa had no 30 December 2011: nobody is asked twice for it."""
    assert moment_of(date(2011, 12, 30), time(8), "Pacific/Apia") == moment_of(
        date(2011, 12, 31), time(8), "Pacific/Apia"
    )


def test_a_day_ends_at_the_midnight_of_its_zone():
    assert end_of(date(2025, 3, 29), "Europe/Lisbon") == datetime(2025, 3, 30, 0, tzinfo=UTC)
    assert end_of(date(2025, 3, 30), "Europe/Lisbon") == datetime(2025, 3, 30, 23, tzinfo=UTC)


@pytest.mark.parametrize(
    "name", ["", "Atlantis/Poseidon", "../../etc/passwd", "Europe", "/etc/localtime", "a\0b", "x" * 500]
)
def test_a_zone_that_does_not_exist_is_named(name):
    with pytest.raises(ValueError, match="zone must be a time zone"):
        zone_of(name)
