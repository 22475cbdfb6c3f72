"""Rules of recurrence: what is read, what is refused and in which words, and that a long past costs nothing."""

import time
from datetime import UTC, date, datetime, timedelta

import pytest
from dateutil.rrule import rrulestr
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.due.rules import BadRule, days_between, first_day, read_rule

START = date(2025, 3, 3)


def test_a_rule_is_kept_in_one_spelling():
    spelled = read_rule(" rrule:interval=1; byday=mo,we ;freq=weekly;wkst=MO; ")
    assert spelled.text == "FREQ=WEEKLY;BYDAY=MO,WE"
    assert read_rule(spelled.text) == spelled
    assert read_rule("FREQ=DAILY;INTERVAL=2;UNTIL=20260102T030405Z").text.endswith("UNTIL=20260102T030405Z")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "Say how often"),
        ("every day", "is not a part of a rule"),
        ("FREQ=", "is not a part of a rule"),
        ("INTERVAL=2", "A rule says FREQ=DAILY"),
        ("FREQ=FORTNIGHTLY", "A rule says FREQ=DAILY"),
        ("FREQ=SECONDLY", "once a day at most"),
        ("FREQ=MINUTELY;INTERVAL=5", "once a day at most"),
        ("FREQ=HOURLY", "once a day at most"),
        ("FREQ=DAILY;BYHOUR=8,9,10", "Leave BYHOUR out"),
        ("FREQ=DAILY;BYSECOND=1", "Leave BYSECOND out"),
        ("FREQ=DAILY;INTERVAL=0", "INTERVAL is a whole number"),
        ("FREQ=DAILY;INTERVAL=-1", "INTERVAL is a whole number"),
        ("FREQ=DAILY;INTERVAL=99999999999999999999", "INTERVAL is a whole number"),
        ("FREQ=DAILY;INTERVAL=²", "INTERVAL is a whole number"),
        ("FREQ=DAILY;COUNT=0", "COUNT is a whole number"),
        ("FREQ=DAILY;COUNT=3;UNTIL=20300101", "not by both"),
        ("FREQ=DAILY;UNTIL=20250230", "UNTIL is a day"),
        ("FREQ=DAILY;UNTIL=tomorrow", "UNTIL is a day"),
        ("FREQ=DAILY;FREQ=DAILY", "FREQ is there twice"),
        ("FREQ=DAILY;BYEASTER=1", "is not a part of a rule that a duty can have"),
        ("FREQ=DAILY;DTSTART=20250101", "is not a part of a rule that a duty can have"),
        ("FREQ=WEEKLY;BYDAY=1MO", "only said in rules by month or year"),
        ("FREQ=MONTHLY;BYDAY=6MO", "There is no 6MO"),
        ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO", "only said in rules by month or year"),
        ("FREQ=WEEKLY;BYDAY=MONDAY", "is not a day"),
        ("FREQ=WEEKLY;BYMONTHDAY=3", "no place in a rule with FREQ=WEEKLY"),
        ("FREQ=MONTHLY;BYYEARDAY=3", "no place in a rule with FREQ=MONTHLY"),
        ("FREQ=DAILY;BYMONTH=13", "BYMONTH takes numbers from 1 to 12"),
        ("FREQ=DAILY;BYMONTH=-1", "is not a whole number"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", "from 1 to 31, or from the end"),
        ("FREQ=MONTHLY;BYSETPOS=1", "BYSETPOS picks from days"),
        ("FREQ=DAILY;WKST=XX", "WKST is one of"),
        ("FREQ=DAILY;BYMONTH=" + ",".join(["1"] * 200), "at most 300 letters"),
    ],
)
def test_a_bad_rule_is_refused_in_a_sentence(text, sentence):
    with pytest.raises(BadRule, match=sentence):
        read_rule(text)


@given(st.text(max_size=60))
def test_whatever_is_typed_is_a_rule_or_a_sentence(text):
    said = ""
    try:
        read_rule(text)
    except BadRule as refused:
        said = str(refused)
    assert not said or said.endswith(".")


@pytest.mark.parametrize(
    "text",
    [
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=WEEKLY;BYMONTH=2;BYDAY=MO;BYSETPOS=8",
        "FREQ=MONTHLY;BYMONTH=4,6,9,11;BYMONTHDAY=31",
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=YEARLY;BYMONTH=6;BYWEEKNO=53",
        "FREQ=YEARLY;BYMONTHDAY=1;BYYEARDAY=366",
    ],
)
def test_a_rule_that_never_comes_is_soon_found_out(text):
    began = time.process_time()
    assert first_day(read_rule(text), START, after=START) is None
    assert time.process_time() - began < 2.0


RULES = st.builds(
    lambda freq, interval, parts, wkst: ";".join([f"FREQ={freq}", f"INTERVAL={interval}", *parts, f"WKST={wkst}"]),
    freq=st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]),
    interval=st.integers(1, 9),
    parts=st.lists(
        st.sampled_from(
            ["BYDAY=MO,TH", "BYDAY=SU", "BYMONTHDAY=1,15,-1", "BYMONTHDAY=31", "BYMONTH=1,2,7", "BYSETPOS=-1"]
        ),
        unique_by=lambda part: part.partition("=")[0],
        max_size=3,
    ),
    wkst=st.sampled_from(["MO", "SU", "WE"]),
)


@given(text=RULES, start=st.dates(date(1999, 1, 1), date(2024, 12, 31)), later=st.integers(-40, 9000))
def test_looking_from_far_on_finds_the_days_that_counting_from_the_start_finds(text, start, later):
    """The search that begins near the day asked about against python-dateutil's own from the first day on."""
    try:
        rule = read_rule(text)
    except BadRule:
        return
    near = start + timedelta(days=later)
    until = near + timedelta(days=800)
    whole = rrulestr(text, dtstart=datetime(start.year, start.month, start.day, tzinfo=UTC))
    expected = []
    for moment in whole:
        if moment.date() > until:
            break
        if moment.date() >= near:
            expected.append(moment.date())
    assert days_between(rule, start, first=near, through=until) == expected


def test_a_rule_from_long_ago_is_answered_as_quickly():
    began = time.process_time()
    rule = read_rule("FREQ=DAILY")
    for day in range(300):
        assert first_day(rule, date(1971, 1, 1), after=START + timedelta(days=day)) == START + timedelta(days=day + 1)
    assert time.process_time() - began < 2.0


def test_a_count_is_counted_from_the_first_day():
    rule = read_rule("FREQ=DAILY;COUNT=3")
    assert first_day(rule, START, after=START + timedelta(days=1)) == START + timedelta(days=2)
    assert first_day(rule, START, after=START + timedelta(days=2)) is None
