"""Where duties stand: counted on by meters, forecast, begun, worked out anew for another zone; and quickly for many."""

from datetime import date, timedelta

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop import clock
from shop.duties import meters, starting
from shop.duties.models import Duty, Touch
from shop.duties.rules import WantedTouch
from shop.people.models import Room
from tests.duties.makers import again, do, make_duty, make_meter, make_trap_duty, step
from tests.makers import moment
from tests.stock.makers import make_item

pytestmark = pytest.mark.usefixtures("monday")


# By meter -------------------------------------------------------------------------------------------------------------


def test_reaching_the_amount_makes_it_due_at_that_moment(engineer, assistant, at):
    duty = make_trap_duty(engineer, make_meter(), late_days=1)
    step(assistant, "chip", 4999)
    assert again(duty).due_at is None
    with at("2025-03-04 14:20"):
        step(assistant, "chip", 1)
    kept = again(duty)
    assert (kept.due_at, kept.due_on) == (moment("2025-03-04 14:20"), date(2025, 3, 4))
    assert kept.late_at == moment("2025-03-06 00:00")
    with at("2025-03-05 10:00"):
        step(assistant, "chip", 900)
    assert again(duty).due_at == moment("2025-03-04 14:20"), "still due since then"


def test_what_is_taken_back_makes_it_due_no_more(engineer, assistant):
    duty = make_trap_duty(engineer, make_meter())
    step(assistant, "chip", 5100)
    meters.take_back(key="chip", amount=300, at=clock.now(), by=assistant)
    kept = again(duty)
    assert (kept.counted, kept.due_at) == (4800, None)


def test_two_duties_count_one_meter_each_from_its_own_last_entry(engineer, assistant, at):
    cut = make_meter("cut")
    oil = make_duty(engineer, "Oil", rule="", meter=cut, meter_amount=10_000)
    hose = make_duty(engineer, "Hose", rule="", meter=cut, meter_amount=50_000)
    with at("2025-03-03 10:00"):
        step(assistant, "cut", 6000)
    with at("2025-03-03 12:00"):
        do(assistant, oil)
    with at("2025-03-03 14:00"):
        step(assistant, "cut", 3000)
    assert (again(oil).counted, again(hose).counted) == (3000, 9000)


def test_a_side_logged_late_counts_for_those_last_done_before_it_was_cut(engineer, assistant, at):
    cut = make_meter("cut")
    oil = make_duty(engineer, "Oil", rule="", meter=cut, meter_amount=10_000)
    hose = make_duty(engineer, "Hose", rule="", meter=cut, meter_amount=50_000)
    with at("2025-03-03 12:00"):
        do(assistant, oil)
        step(assistant, "cut", 700, at=moment("2025-03-03 11:00"))
    assert (again(oil).counted, again(hose).counted) == (0, 700)


def test_emptying_the_trap_by_its_meter_brings_the_duty_along(engineer, assistant, at):
    from uuid import uuid4

    from shop.duties import actions

    chip = make_meter()
    duty = make_trap_duty(engineer, chip)
    step(assistant, "chip", 5100)
    with at("2025-03-03 17:00"):
        actions.reset_meter(by=assistant, once=uuid4(), meter=chip)
    kept = again(duty)
    assert (kept.counted, kept.due_at, kept.last_entry) == (0, None, None)


def test_whichever_comes_first(engineer, assistant, at):
    duty = make_trap_duty(engineer, make_meter(), rule="FREQ=WEEKLY", counts_from="entry")
    with at("2025-03-03 18:00"):
        do(assistant, duty)
    assert again(duty).due_on == date(2025, 3, 10)
    with at("2025-03-06 11:00"):
        step(assistant, "chip", 5000)
    assert again(duty).due_on == date(2025, 3, 6)


# Forecasts ------------------------------------------------------------------------------------------------------------


def use(assistant, at, days, amount=500):
    """So much each day, up to yesterday."""
    for back in range(days, 0, -1):
        with at(f"{date(2025, 3, 3) - timedelta(days=back)} 15:00"):
            step(assistant, "chip", amount + (100 if back % 2 else -100))


def test_the_day_is_forecast_from_recent_use_with_how_sure_it_is(engineer, assistant, at):
    chip = make_meter()
    use(assistant, at, 20)
    with at("2025-03-03 09:00"):
        duty = make_duty(engineer, "Hose", rule="", meter=chip, meter_amount=10_000)
    assert (duty.expected_on, duty.expected_from_days) == (date(2025, 3, 23), 20)
    assert duty.expected_low_on < duty.expected_on < duty.expected_high_on
    assert (duty.expected_high_on - duty.expected_low_on).days == 6


def test_too_little_use_gives_no_forecast(engineer, assistant, at):
    chip = make_meter()
    use(assistant, at, 9)
    assert make_duty(engineer, "Hose", rule="", meter=chip, meter_amount=10_000).expected_on is None


def test_the_job_brings_the_forecast_up_to_the_day(engineer, assistant, at):
    chip = make_meter()
    use(assistant, at, 20)
    duty = make_duty(engineer, "Hose", rule="", meter=chip, meter_amount=10_000)
    with at("2025-03-13 09:00"):
        assert starting.work_out_care() == "1 of 1 changed"
        assert again(duty).expected_on > date(2025, 3, 23), "ten days went by without any"
        assert starting.work_out_care() == "0 of 1 changed"


# By itself ------------------------------------------------------------------------------------------------------------


def test_another_zone_is_another_moment(engineer):
    duty = make_duty(engineer)
    Room.objects.update(zone="America/Chicago")
    assert starting.work_out_care() == "1 of 1 changed"
    kept = again(duty)
    assert (kept.zone, kept.due_at.isoformat()) == ("America/Chicago", "2025-03-03T14:00:00+00:00")


def test_starter_duties_begin_with_nothing_due_on_the_first_day(engineer, at):
    make_item(engineer, kind="part", unit="mm", blank_in=None, name="Chip hose")
    call_command("loaddata", "starter_duties", verbosity=0)
    assert not Duty.objects.exclude(due_at=None).exists(), "nothing has begun yet"
    starting.work_out_care()
    active = Duty.objects.all()
    assert active.count() == 31
    assert not active.filter(begun_at=None).exists()
    assert not active.filter(due_on__lte=date(2025, 3, 3)).exists()
    soon = active.filter(due_on__lte=date(2025, 3, 10)).count()
    assert 6 <= soon <= 16, "spread over the weeks"
    assert Duty.objects.get(name="Change the chip hose").due_on == date(2025, 9, 3)
    assert Duty.objects.get(name="Treat the chip line with talc").due_on is None
    trap = Duty.objects.get(name="Empty the chip trap")
    assert (trap.resets_own_meter, trap.due_on) == (True, date(2025, 3, 10))
    assert Touch.objects.filter(target=None).exclude(kind="take-stock").count() == 0
    assert Touch.objects.get(target_name="Chip hose").target is not None
    assert starting.work_out_care() == "0 of 31 changed"


def test_every_starter_duty_says_why_in_which_steps_and_where_it_is_from(db):
    call_command("loaddata", "starter_duties", verbosity=0)
    for duty in Duty.objects.all():
        assert duty.why, duty
        assert duty.steps.exists(), duty
        assert "common practice, no source" in duty.source or "from memory" in duty.source, duty
        assert duty.how_often, duty
        assert duty.for_role, duty


def test_a_sweep_over_many_takes_as_many_queries_as_over_few(assistant, at):
    chip = make_meter()
    use(assistant, at, 20)

    def many(count, first):
        Duty.objects.bulk_create(
            Duty(
                name=f"Duty {first + n}",
                rule="FREQ=WEEKLY",
                starts_on=date(2025, 3, 3),
                meter=chip,
                meter_amount=9000 + n,
                begun_at=clock.now(),
            )
            for n in range(count)
        )

    def queries():
        with CaptureQueriesContext(connection) as seen:
            starting.work_out_care()
        return [one for one in seen.captured_queries if not one["sql"].startswith("UPDATE")]

    many(3, 0)
    few = queries()
    many(300, 1000)
    assert len(queries()) == len(few)


def test_touches_find_their_target_by_name(engineer):
    chip = make_meter()
    duty = make_duty(
        engineer, "Empty", rule="", meter=chip, meter_amount=5000, touches=(WantedTouch("reset-meter", chip.pk),)
    )
    Touch.objects.update(target=None)
    Duty.objects.update(resets_own_meter=False)
    starting.work_out_care()
    assert duty.touches.get().target == chip.pk
    assert again(duty).resets_own_meter
