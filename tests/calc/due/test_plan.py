"""When care falls due: by plan or from the last entry, with grace, by meter, put off."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.due import BadRule, Calendar, by_meter, by_rule, check, next_day, planned_days, put_off, soonest

MONDAY = date(2025, 3, 3)
ZONE = "Europe/Lisbon"


def weekly(**other):
    return Calendar(**{"rule": "FREQ=WEEKLY;BYDAY=MO", "start": MONDAY, "at": time(8), "zone": ZONE} | other)


def day(offset):
    return MONDAY + timedelta(days=offset)


def test_the_first_time_is_the_first_day_of_the_rule_from_its_start_on():
    assert next_day(weekly(), None) == MONDAY
    assert next_day(weekly(start=day(1)), None) == day(7)


@pytest.mark.parametrize(
    ("done", "early_days", "expected"),
    [
        (0, 0, 7),  # on its day
        (3, 0, 7),  # late: the plan runs on
        (9, 0, 14),  # so late that two days of the plan had come: one entry settles both
        (5, 0, 7),  # two days early, without grace: the day of the plan still stands
        (5, 2, 14),  # two days early, within grace: it counts for it
        (4, 2, 7),
    ],
)
def test_by_the_plan(done, early_days, expected):
    assert next_day(weekly(early_days=early_days), day(done)) == day(expected)


@pytest.mark.parametrize(
    ("rule", "done", "expected"),
    [
        ("FREQ=DAILY;INTERVAL=90", date(2025, 3, 10), date(2025, 6, 8)),
        ("FREQ=WEEKLY", date(2025, 3, 12), date(2025, 3, 19)),
        ("FREQ=MONTHLY", date(2025, 1, 31), date(2025, 2, 28)),
        ("FREQ=MONTHLY;INTERVAL=3", date(2025, 11, 30), date(2026, 2, 28)),
        ("FREQ=YEARLY", date(2024, 2, 29), date(2025, 2, 28)),
        ("FREQ=MONTHLY;BYDAY=1MO", date(2025, 3, 12), date(2025, 4, 7)),
        ("FREQ=WEEKLY;BYDAY=MO,TH", date(2025, 3, 3), date(2025, 3, 6)),
    ],
)
def test_from_the_last_entry(rule, done, expected):
    counted = weekly(rule=rule, start=date(2020, 1, 1), from_entry=True)
    assert next_day(counted, done) == expected


def test_an_end_ends_it():
    assert next_day(weekly(rule="FREQ=WEEKLY;BYDAY=MO;UNTIL=20250310"), day(0)) == day(7)
    assert next_day(weekly(rule="FREQ=WEEKLY;BYDAY=MO;UNTIL=20250310"), day(7)) is None
    assert next_day(weekly(rule="FREQ=WEEKLY;UNTIL=20250310", from_entry=True), day(4)) is None
    # to the hour: eight o'clock of that Monday is past the end
    assert next_day(weekly(rule="FREQ=WEEKLY;BYDAY=MO;UNTIL=20250310T070000Z"), day(0)) is None
    assert next_day(weekly(rule="FREQ=WEEKLY;BYDAY=MO;UNTIL=20250310T080000Z"), day(0)) == day(7)


def test_a_start_that_was_moved_on_holds():
    assert next_day(weekly(start=day(30)), day(0)) == day(35)
    assert next_day(weekly(rule="FREQ=WEEKLY", start=day(30), from_entry=True), day(0)) == day(30)


def test_due_from_its_hour_and_late_once_its_grace_has_passed():
    due = by_rule(weekly(at=time(9, 30)), None, late_days=0)
    assert due is not None
    assert (due.day, due.at) == (MONDAY, datetime(2025, 3, 3, 9, 30, tzinfo=UTC))
    assert due.late_at == datetime(2025, 3, 4, tzinfo=UTC)
    summer = by_rule(weekly(), date(2025, 3, 24), late_days=2)
    assert summer is not None
    assert (summer.at, summer.late_at) == (datetime(2025, 3, 31, 7, tzinfo=UTC), datetime(2025, 4, 2, 23, tzinfo=UTC))


def test_whichever_comes_first():
    rule = by_rule(weekly(), MONDAY, late_days=0)
    meter = by_meter(datetime(2025, 3, 5, 15, 10, tzinfo=UTC), ZONE, late_days=1)
    assert (meter.day, meter.late_at) == (day(2), datetime(2025, 3, 7, tzinfo=UTC))
    assert soonest(rule, meter) == meter
    assert soonest(rule, None) == rule
    assert soonest(None, None) is None


def test_put_off_moves_it_on_but_never_nearer():
    due = by_rule(weekly(), None, late_days=0)
    later = put_off(due, day(4), time(8), ZONE, late_days=0)
    assert later is not None
    assert (later.day, later.late_at) == (day(4), datetime(2025, 3, 8, tzinfo=UTC))
    assert put_off(later, day(2), time(8), ZONE, late_days=0) == later
    assert put_off(None, day(2), time(8), ZONE, late_days=0) is None


@pytest.mark.parametrize(
    ("other", "part", "sentence"),
    [
        ({"rule": "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"}, "rule", "never falls due"),
        ({"rule": "FREQ=YEARLY;INTERVAL=100;BYMONTH=2;BYMONTHDAY=29"}, "rule", "never falls due"),
        ({"rule": "FREQ=WEEKLY;UNTIL=20250302"}, "rule", "ends on 2 March 2025, before its first day, 3 March 2025"),
        ({"rule": "FREQ=WEEKLY;BYDAY=SU;UNTIL=20250308"}, "rule", "never falls due"),
        ({"rule": "FREQ=WEEKLY;COUNT=3", "from_entry": True}, "rule", "COUNT can't be told"),
        ({"rule": "FREQ=SECONDLY"}, "rule", "once a day"),
        ({"zone": "Atlantis/Poseidon"}, "zone", "zone must be a time zone"),
        ({"start": date(1, 1, 1)}, "start", "between 1970 and 2200"),
        ({"start": date(9999, 12, 31)}, "start", "between 1970 and 2200"),
    ],
)
def test_a_calendar_that_cannot_be_kept_says_why_and_where(other, part, sentence):
    with pytest.raises(BadRule, match=sentence) as refused:
        check(weekly(**other))
    assert refused.value.part == part


def test_a_leap_day_is_waited_for():
    assert check(weekly(rule="FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", start=date(2096, 3, 1)))


def test_the_days_ahead():
    march = {"first": day(0), "through": day(28)}
    assert planned_days(weekly(), day(0), **march) == [day(7), day(14), day(21), day(28)]
    assert planned_days(weekly(), None, **march)[0] == day(0)
    assert planned_days(weekly(rule="FREQ=DAILY;INTERVAL=10", from_entry=True), day(1), **march) == [day(11), day(21)]
    assert planned_days(weekly(rule="FREQ=WEEKLY;BYDAY=MO;UNTIL=20250312"), None, **march) == [day(0), day(7)]
    assert planned_days(weekly(rule="FREQ=WEEKLY;BYDAY=MO;UNTIL=20250312"), day(7), **march) == []


@given(
    rule=st.sampled_from(
        [
            "FREQ=DAILY",
            "FREQ=WEEKLY;BYDAY=TU,FR",
            "FREQ=MONTHLY;BYMONTHDAY=-1",
            "FREQ=MONTHLY;INTERVAL=3",
            "FREQ=YEARLY",
        ]
    ),
    from_entry=st.booleans(),
    done=st.integers(0, 2000),
    early_days=st.integers(0, 3),
)
def test_what_is_settled_is_never_due_again_the_same_day(rule, from_entry, done, early_days):
    calendar = weekly(rule=rule, from_entry=from_entry, early_days=early_days)
    found = next_day(calendar, day(done))
    assert found is not None
    assert found > day(done)
    assert found <= day(done + early_days + 366)
