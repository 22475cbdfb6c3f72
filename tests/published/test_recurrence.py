"""Recurrence against RFC 5545 (Internet Calendaring and Scheduling Core Object Specification, 2009), 3.8.5.3.

The examples of pages 123 to 132, all of 09:00 in New York. Left out is the hourly one, whose printed UNTIL is 13:00
there and whose 15:00 is so a known erratum; a duty has no hourly rule anyway.
"""

from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from shop.calc.due import Calendar, check, last_day, moment_of, next_day, planned_days

ZONE, NINE = "America/New_York", time(9)
LONG_AFTER = date(2010, 1, 1)


def days_of(start: str, rule: str, through: date = LONG_AFTER) -> list[date]:
    calendar = Calendar(rule, date.fromisoformat(start), NINE, ZONE)
    check(calendar)
    return planned_days(calendar, None, first=calendar.start, through=through)


def printed(text: str) -> list[date]:
    """ "1997: 9-2 9-9; 1998: 1-6" as days."""
    found = []
    for year in text.split(";"):
        number, _, days = year.partition(":")
        found += [date(int(number), *map(int, one.split("-"))) for one in days.split()]
    return found


WHOLE = [
    ("1997-09-02", "FREQ=WEEKLY;COUNT=10", "1997: 9-2 9-9 9-16 9-23 9-30 10-7 10-14 10-21 10-28 11-4"),
    (
        "1997-09-02",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1997: 9-2 9-4 9-16 9-18 9-30 10-2 10-14 10-16",
    ),
    (
        "1997-09-01",
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        "1997: 9-1 9-3 9-5 9-15 9-17 9-19 9-29 10-1 10-3 10-13 10-15 10-17 10-27 10-29 10-31 11-10 11-12 11-14 11-24 "
        "11-26 11-28 12-8 12-10 12-12 12-22",
    ),
    (
        "1997-09-05",
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997: 9-5 10-3 11-7 12-5; 1998: 1-2 2-6 3-6 4-3 5-1 6-5",
    ),
    (
        "1997-09-07",
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1997: 9-7 9-28 11-2 11-30; 1998: 1-4 1-25 3-1 3-29 5-3 5-31",
    ),
    ("1997-09-22", "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO", "1997: 9-22 10-20 11-17 12-22; 1998: 1-19 2-16"),
    (
        "1997-09-30",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "1997: 9-30 10-1 10-31 11-1 11-30 12-1 12-31; 1998: 1-1 1-31 2-1",
    ),
    (
        "1997-09-10",
        "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        "1997: 9-10 9-11 9-12 9-13 9-14 9-15; 1999: 3-10 3-11 3-12 3-13",
    ),
    (
        "1997-06-10",
        "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        "1997: 6-10 7-10; 1998: 6-10 7-10; 1999: 6-10 7-10; 2000: 6-10 7-10; 2001: 6-10 7-10",
    ),
    (
        "1997-01-01",
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997: 1-1 4-10 7-19; 2000: 1-1 4-9 7-18; 2003: 1-1 4-10 7-19; 2006: 1-1",
    ),
    ("1997-09-04", "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "1997: 9-4 10-7 11-6"),
    ("1997-08-05", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "1997: 8-5 8-10 8-19 8-24"),
    ("1997-08-05", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "1997: 8-5 8-17 8-19 8-31"),
    ("2007-01-15", "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2007: 1-15 1-30 2-15 3-15 3-30"),
]

BEGINNINGS = [
    (
        "1997-09-02",
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1997: 9-2 9-16 9-30 10-14 10-28 11-11 11-25 12-9 12-23; 1998: 1-6 1-20 2-3 2-17",
    ),
    ("1997-09-28", "FREQ=MONTHLY;BYMONTHDAY=-3", "1997: 9-28 10-29 11-28 12-29; 1998: 1-29 2-26"),
    ("1997-05-19", "FREQ=YEARLY;BYDAY=20MO", "1997: 5-19; 1998: 5-18; 1999: 5-17"),
    ("1997-05-12", "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "1997: 5-12; 1998: 5-11; 1999: 5-17"),
    # the first day is no Friday the 13th; the RFC takes it out by EXDATE, and here a rule counts alone
    ("1997-09-02", "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13", "1998: 2-13 3-13 11-13; 1999: 8-13; 2000: 10-13"),
    (
        "1997-09-13",
        "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
        "1997: 9-13 10-11 11-8 12-13; 1998: 1-10 2-7 3-7 4-11 5-9 6-13",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("start", "rule", "days"), WHOLE)
def test_the_days_of_a_rule_that_ends(start, rule, days):
    assert days_of(start, rule) == printed(days)


@pytest.mark.parametrize(("start", "rule", "days"), BEGINNINGS)
def test_the_first_days_of_a_rule_without_an_end(start, rule, days):
    expected = printed(days)
    assert days_of(start, rule, through=expected[-1]) == expected


def test_daily_until_christmas_eve_leaves_out_the_day_whose_hour_is_past_the_end():
    """ "September 2-30;October 1-25" in EDT, "October 26-31;November 1-30;December 1-23" in EST: 113 days."""
    found = days_of("1997-09-02", "FREQ=DAILY;UNTIL=19971224T000000Z")
    assert found == [date(1997, 9, 2) + timedelta(days=n) for n in range(113)]
    assert found[-1] == date(1997, 12, 23)
    summer = [day for day in found if moment_of(day, NINE, ZONE).astimezone(ZoneInfo(ZONE)).tzname() == "EDT"]
    assert (summer[0], summer[-1]) == (date(1997, 9, 2), date(1997, 10, 25))


def test_the_end_is_the_last_day_at_that_hour():
    calendar = Calendar("FREQ=DAILY;UNTIL=19971224T000000Z", date(1997, 9, 2), NINE, ZONE)
    assert last_day(check(calendar), calendar) == date(1997, 12, 23)


@pytest.mark.parametrize(
    ("start", "rule", "moments"),
    [
        # computed with python-dateutil and zoneinfo; the RFC prints the zones' letters beside the days
        ("1997-10-21", "FREQ=WEEKLY", ["1997-10-21T13:00", "1997-10-28T14:00"]),
        ("1998-04-03", "FREQ=MONTHLY;BYDAY=1FR", ["1998-04-03T14:00", "1998-05-01T13:00"]),
    ],
)
def test_nine_stays_nine_across_a_change_of_clocks(start, rule, moments):
    found = [moment_of(day, NINE, ZONE) for day in days_of(start, rule, date.fromisoformat(moments[-1][:10]))]
    assert [moment.isoformat()[:16] for moment in found] == moments


@pytest.mark.parametrize(
    ("start", "rule", "days"),
    [
        # a day that a month or year lacks is left out (3.3.10); computed with python-dateutil
        ("2016-02-29", "FREQ=YEARLY", "2016: 2-29; 2020: 2-29; 2024: 2-29"),
        ("2014-01-31", "FREQ=MONTHLY", "2014: 1-31 3-31 5-31 7-31"),
        ("2024-01-31", "FREQ=MONTHLY;BYMONTHDAY=-1", "2024: 1-31 2-29 3-31 4-30"),
        # the last work day of the month, named in 3.3.10 without days; computed with python-dateutil
        (
            "1997-09-30",
            "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1",
            "1997: 9-30 10-31 11-28 12-31; 1998: 1-30 2-27",
        ),
    ],
)
def test_days_that_are_missing_and_last_work_days(start, rule, days):
    expected = printed(days)
    assert days_of(start, rule, through=expected[-1]) == expected


def test_done_on_each_day_the_next_is_the_next_that_is_printed():
    """The same, asked day by day as a duty asks."""
    for start, rule, days in WHOLE:
        calendar = Calendar(rule, date.fromisoformat(start), NINE, ZONE)
        settled, found = None, []
        while (day := next_day(calendar, settled)) is not None:
            found.append(day)
            settled = day
        assert found == printed(days), rule


@pytest.mark.parametrize(
    ("done", "rule", "due"),
    [
        ("2024-01-31", "FREQ=MONTHLY", "2024-02-29"),
        ("2023-01-31", "FREQ=MONTHLY", "2023-02-28"),
        ("2024-02-29", "FREQ=MONTHLY;INTERVAL=12", "2025-02-28"),
        ("2024-02-29", "FREQ=YEARLY", "2025-02-28"),
    ],
)
def test_a_month_from_the_last_of_one_is_the_last_of_the_next(done, rule, due):
    """No standard: the clip rule of python-dateutil's relativedelta, with which these were computed. From the entry."""
    calendar = Calendar(rule, date(2020, 1, 1), NINE, ZONE, from_entry=True)
    assert next_day(calendar, date.fromisoformat(done)) == date.fromisoformat(due)
