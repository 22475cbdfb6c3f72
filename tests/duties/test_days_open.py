"""A meter of days: since what it follows began, by the room's calendar, and the duties that fall due by it."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from shop import clock
from shop.calc.due import day_open_for, days_open
from shop.duties import actions, meters, queries, standing
from shop.duties.concerns import concerns
from shop.duties.happenings import happenings
from shop.duties.models import Duty, Meter
from shop.people.models import Room
from shop.refusal import Refused
from tests.duties.makers import do, facts, make_duty, make_meter
from tests.makers import anyway, at, moment

ONCE_A_QUARTER = {"rule": "", "meter_amount": 90}


@pytest.fixture
def open_days(room_row):
    return make_meter("open")


def follow(since):
    with transaction.atomic():
        meters.follow(key="open", since=moment(since) if since else None)


@pytest.fixture
def look_over(owner, open_days):
    """Due at 90 days, with a week's grace."""
    with at("2025-01-02 09:00"):
        return make_duty(owner, "See to old solvent", meter=open_days, late_days=7, **ONCE_A_QUARTER)


def fresh(duty):
    return Duty.objects.select_related("meter", "last_entry").get(pk=duty.pk)


# Days on the calendar -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("opened", "day", "open_for"),
    [
        ("2025-03-29", "2025-03-29", 0),
        ("2025-03-29", "2025-03-31", 2),  # over the change of clocks on the 30th
        ("2024-02-28", "2024-03-01", 2),  # a leap year
        ("2025-02-28", "2025-03-01", 1),
        ("2024-12-31", "2025-12-31", 365),
        ("2023-12-31", "2024-12-31", 366),
    ],
)
def test_days_are_the_midnights_between(opened, day, open_for):
    first, last = date.fromisoformat(opened), date.fromisoformat(day)
    assert days_open(first, last) == open_for
    assert day_open_for(first, open_for) == last


def test_days_past_the_calendar_are_refused():
    with pytest.raises(ValueError, match="before the year 10000"):
        day_open_for(date(2025, 1, 1), 2_999_999)


# The meter ------------------------------------------------------------------------------------------------------------


def test_it_stands_at_the_days_to_the_minute(open_days):
    """Opened late in the evening, a minute before midnight it has been open for no day, a minute after for one."""
    follow("2025-03-01 23:30")
    for moment_text, days in (("2025-03-01 23:59", 0), ("2025-03-02 00:00", 1), ("2025-03-31 23:59", 30)):
        with at(moment_text):
            shown = Meter.objects.get()
            assert (shown.stands_at, shown.number_shown) == (days, str(days))


def test_it_is_the_rooms_midnight_that_counts(open_days):
    """23:30 of the second of March in Lisbon is the third in Tokyo."""
    follow("2025-03-02 23:30")
    now = moment("2025-03-03 10:00")
    with clock.moved(now):
        assert Meter.objects.get().stands_at == 1
        with clock.in_zone("Asia/Tokyo"):
            assert Meter.objects.get().stands_at == 0


def test_with_nothing_to_follow_it_stands_at_nought(open_days):
    follow("2025-03-01 09:00")
    follow(None)
    with at("2025-06-01 09:00"):
        assert Meter.objects.get().stands_at == 0


def test_nobody_resets_or_steps_it(engineer, open_days):
    with pytest.raises(Refused, match="goes by the oldest open container"), transaction.atomic():
        meters.reset(meter=open_days, at=clock.now(), by=engineer)
    with pytest.raises(IntegrityError), transaction.atomic():
        Meter.objects.filter(pk=open_days.pk).update(reset_word="thrown away")


def test_a_room_without_that_meter_goes_on(room_row):
    follow("2025-03-01 09:00")
    assert not Meter.objects.exists()


# Duties by it ---------------------------------------------------------------------------------------------------------


def test_the_day_it_falls_due_is_known_ahead(look_over):
    """By hand: 1 March and 90 days is 30 May; a week's grace ends with 6 June. The clocks change on 30 March."""
    with at("2025-03-01 14:00"):
        follow("2025-03-01 14:00")
        duty = fresh(look_over)
        assert (duty.due_on, duty.due_at) == (date(2025, 5, 30), moment("2025-05-30 00:00"))
        assert duty.late_at == moment("2025-06-07 00:00")
        assert duty.expected_on is None
        assert duty.counted_words == "0 days, due at 90 days"
    for moment_text, is_due in (("2025-05-29 23:59", False), ("2025-05-30 00:00", True)):
        with at(moment_text):
            assert fresh(look_over).is_reached_now == is_due
            assert queries.is_due(fresh(look_over), clock.now()) == is_due


def test_it_goes_by_the_oldest_and_begins_again_with_the_next(look_over):
    with at("2025-04-20 10:00"):
        follow("2025-03-01 14:00")
        follow("2025-04-10 09:00")  # the first was used up, the next was opened on 10 April
        assert fresh(look_over).due_on == date(2025, 7, 9)
        assert fresh(look_over).counted == 10
        follow(None)
        assert (fresh(look_over).due_on, fresh(look_over).counted) == (None, 0)


def test_done_it_counts_from_then(assistant, look_over):
    with at("2025-06-01 10:00"):
        follow("2025-03-01 14:00")
        assert fresh(look_over).counted_words == "92 days, due at 90 days"
        do(assistant, fresh(look_over))
        duty = fresh(look_over)
        assert (duty.due_on, duty.counted) == (date(2025, 8, 30), 0)
    with at("2025-06-10 10:00"):
        follow("2025-06-05 08:00")  # another bottle since: it is younger than the entry
        assert fresh(look_over).due_on == date(2025, 9, 3)


def test_whichever_comes_first(owner, open_days):
    """Monthly by the calendar, or at 10 days: opened on 3 March it is the meter's, on the 13th."""
    with at("2025-03-03 09:00"):
        monthly = make_duty(
            owner,
            "Both",
            rule="FREQ=MONTHLY;BYMONTHDAY=20",
            meter=open_days,
            meter_amount=10,
            starts_on=date(2025, 3, 3),
        )
        assert fresh(monthly).due_on == date(2025, 3, 20)
        follow("2025-03-03 09:00")
        assert fresh(monthly).due_on == date(2025, 3, 13)


def test_a_worry_is_told_from_that_day_on(look_over):
    with at("2025-03-01 14:00"):
        follow("2025-03-01 14:00")
    with at("2025-05-29 12:00"):
        assert concerns(clock.now()) == []
    with at("2025-05-30 07:00"):
        (one,) = concerns(clock.now())
        assert one.headline == "See to old solvent: due"
        assert "by its meter: 90 days, due at 90 days" in one.reason


def test_the_meters_own_limit_worries_and_leads_to_its_page(open_days):
    Meter.objects.update(care_at=120)
    follow("2025-01-01 09:00")
    with at("2025-04-30 09:00"):
        assert concerns(clock.now()) == []
    with at("2025-05-01 00:00"):
        (one,) = concerns(clock.now())
        assert one.headline == "Oldest open container: 120 days, past the limit for care"
        assert one.reason.startswith("Open since 1 January 2025")
        assert one.link == open_days.get_absolute_url()


def test_it_stands_in_the_calendar_on_its_day(look_over):
    with at("2025-03-01 14:00"):
        follow("2025-03-01 14:00")
        (one,) = happenings(clock.now())
    assert (one.start, one.title) == (date(2025, 5, 30), "See to old solvent")


def test_another_zone_moves_its_midnight(owner, look_over):
    with at("2025-03-01 14:00"):
        follow("2025-03-01 14:00")
        Room.objects.update(zone="Asia/Tokyo")
        with clock.in_zone("Asia/Tokyo"):
            standing.refresh()
            assert fresh(look_over).due_at == moment("2025-05-30 00:00")  # of Tokyo, which is now active


def test_a_duty_by_it_is_made_changed_and_shown(client_of, engineer, open_days):
    follow("2025-03-01 14:00")
    with at("2025-04-01 10:00"):
        duty = make_duty(engineer, "See to it", meter=open_days, meter_amount=45, rule="")
        assert duty.due_on == date(2025, 4, 15)
        changed = facts("See to it", rule="", meter=open_days, meter_amount=60)
        assert anyway(actions.change_duty, by=engineer, duty=duty, version=1, facts=changed).due_on == date(2025, 4, 30)
        browser = client_of(engineer)
        page = browser.get(duty.get_absolute_url()).content.decode()
        assert "at 60 days on “Oldest open container”" in page
        assert "Due by its meter on Wednesday 30 Apr" in page
        shown = browser.get(open_days.get_absolute_url()).content.decode()
        assert "Days since the oldest open container was opened, on 1 Mar 2025" in shown
        assert browser.get("/duties/meters/").status_code == 200
