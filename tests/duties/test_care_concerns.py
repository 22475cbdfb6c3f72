"""What care worries about: due is a note, late is care or what the duty says, a meter and its duty are one matter."""

from datetime import date
from uuid import uuid4

import pytest

from shop import clock, concern, happening
from shop.concern import Grade
from shop.duties import actions
from shop.duties.concerns import concerns
from shop.duties.models import Duty, LateGrade
from tests.duties.makers import do, done, make_duty, make_meter, make_trap_duty, put_off, read_step, step
from tests.makers import moment

pytestmark = pytest.mark.usefixtures("monday")


def found():
    return concerns(clock.now())


def test_due_is_a_note_with_the_last_day_it_may_be_done(engineer, assistant):
    duty = make_duty(engineer, late_days=2, place="Platter", for_person=assistant)
    [one] = found()
    assert (one.key, one.grade, one.subject) == (f"duties:due:{duty.pk}", Grade.NOTE, "Platter")
    assert one.headline == "Wipe the ports: due"
    assert "Due since Monday 3 March 2025: every week on Monday." in one.reason
    assert "For Asta Pellow." in one.reason
    assert one.by == moment("2025-03-05 00:00")
    assert one.link == f"/duties/{duty.pk}/do/"


def test_before_its_hour_it_is_not_due(engineer, at):
    make_duty(engineer)
    with at("2025-03-03 07:59"):
        assert found() == []


def test_past_its_grace_it_is_care_under_the_same_key(engineer, assistant, at):
    duty = make_duty(engineer, late_days=1)
    do(assistant, duty)
    with at("2025-03-11 23:59"):
        assert [one.grade for one in found()] == [Grade.NOTE]
    with at("2025-03-12 00:01"):
        [late] = found()
    assert (late.key, late.grade, late.by) == (f"duties:due:{duty.pk}", Grade.CARE, None)
    assert "Its grace ended on Tuesday 11 March 2025." in late.reason
    assert "Last done on 3 March 2025 by Asta Pellow." in late.reason


@pytest.mark.parametrize(("setting", "grade"), [(LateGrade.CARE, Grade.CARE), (LateGrade.HOLD, Grade.HOLD)])
def test_what_is_safety_critical_weighs_what_it_was_told_to(engineer, at, setting, grade):
    make_duty(engineer, is_critical=True, late_grade=setting)
    with at("2025-03-04 00:01"):
        assert [one.grade for one in found()] == [grade]


def test_done_or_put_off_it_worries_nobody(engineer, assistant, at):
    duty = make_duty(engineer)
    put_off(assistant, duty, date(2025, 3, 5))
    assert found() == []
    with at("2025-03-05 09:00"):
        [one] = found()
        assert "Put off once." in one.reason
        do(assistant, duty)
        assert found() == []


def test_a_reading_amiss_stays_a_worry_until_it_is_read_well(engineer, assistant, at):
    duty = make_duty(engineer, steps=(read_step(),))
    amiss = done(duty, readings={"Gauge": 8.0})
    entry = do(assistant, duty, steps=amiss, sure=[f"amiss:{amiss[0].step.pk}:8"])
    [one] = found()
    assert (one.key, one.grade) == (f"duties:amiss:{duty.pk}", Grade.CARE)
    assert "below the shop's own" in one.reason
    assert [(quantity.kind, quantity.value) for quantity in one.quantities] == [
        ("pressure", 8.0),
        ("pressure", 10.0),
        ("pressure", 15.0),
    ]
    assert one.quantities[0].text in one.reason
    with at("2025-03-03 11:00"):
        do(assistant, duty, steps=done(duty, readings={"Gauge": 12.0}), sure=[f"again:{entry.pk}"])
    assert found() == []


def test_a_meter_past_its_limit_and_the_duty_it_makes_due_are_one_matter(engineer, assistant):
    duty = make_trap_duty(engineer, make_meter())
    step(assistant, "chip", 5500)
    assert [one.key for one in found()] == [f"duties:due:{duty.pk}"]
    step(assistant, "chip", 1000)
    [one] = found()
    assert (one.key, one.grade, one.link) == ("duties:meter:chip", Grade.CARE, f"/duties/{duty.pk}/do/")


def test_the_one_matter_is_as_grave_as_the_graver(engineer, assistant, at):
    make_trap_duty(engineer, make_meter(), is_critical=True, late_grade=LateGrade.HOLD)
    step(assistant, "chip", 6500)
    with at("2025-03-04 10:00"):
        assert [(one.key, one.grade) for one in found()] == [("duties:meter:chip", Grade.HOLD)]


def test_two_queries_however_many_are_due(engineer, django_assert_num_queries):
    make_meter()
    for count in (3, 60):
        Duty.objects.bulk_create(
            Duty(
                name=f"Duty {count} {n}",
                rule="FREQ=WEEKLY",
                starts_on=date(2025, 3, 3),
                begun_at=clock.now(),
                due_on=date(2025, 3, 3),
                due_at=moment("2025-03-03 08:00"),
                late_at=moment("2025-03-04 00:00"),
            )
            for n in range(count)
        )
        with django_assert_num_queries(2):
            assert len(found()) >= count


def test_the_calendar_has_each_on_its_next_day_which_moves_on(engineer, assistant, at):
    weekly, trap = make_duty(engineer, for_person=assistant), make_trap_duty(engineer, make_meter())
    stopped = make_duty(engineer, "Other")
    actions.stop_duty(by=engineer, once=uuid4(), duty=stopped, why="Away.")

    def told():
        return {one.uid: one for one in happening.gather(clock.now()) if one.uid.startswith("duties:")}

    [one] = told().values()
    assert (one.uid, one.title, one.start) == (f"duties:next:{weekly.pk}", "Wipe the ports", date(2025, 3, 3))
    assert one.note == "Every week on Monday. For Asta Pellow."
    do(assistant, weekly)
    step(assistant, "chip", 5000, at=moment("2025-03-03 09:10"))
    Duty.objects.filter(pk=trap.pk).update(due_on=None, due_at=None, late_at=None, expected_on=date(2025, 3, 20))
    assert {uid: one.start.day for uid, one in told().items()} == {one.uid: 10, f"duties:next:{trap.pk}": 20}


def test_care_is_asked_when_concerns_are_gathered(engineer):
    duty = make_duty(engineer)
    assert f"duties:due:{duty.pk}" in [one.key for one in concern.gather(clock.now())]
