"""Adding a duty, changing it, stopping it and taking it up again."""

from datetime import date, time
from uuid import uuid4

import pytest

from shop.duties import actions, effects
from shop.duties.models import Duty, DutyStep, LateGrade
from shop.duties.rules import WantedStep, WantedTouch
from shop.refusal import Changed, NotAllowed, Refused
from tests.duties.makers import (
    again,
    do,
    facts,
    make_duty,
    make_meter,
    make_trap_duty,
    put_off,
    read_step,
    step,
    steps_of,
)
from tests.makers import moment


@pytest.fixture(autouse=True)
def monday(room_row, at):
    with at("2025-03-03 07:30"):
        yield


def test_a_weekly_duty_is_due_on_its_first_day_from_its_hour_on(engineer):
    duty = make_duty(engineer, at=time(9, 30), late_days=1)
    assert (duty.due_on, duty.due_at) == (date(2025, 3, 3), moment("2025-03-03 09:30"))
    assert duty.late_at == moment("2025-03-05 00:00")
    assert duty.rule_words == "every week on Monday"
    assert duty.zone == "Europe/Lisbon"


def test_without_a_first_day_it_starts_today(engineer, at):
    with at("2025-03-05 10:00"):
        assert make_duty(engineer, starts_on=None).due_on == date(2025, 3, 10)


def test_it_keeps_all_it_was_told(engineer, assistant):
    chip = make_meter()
    duty = make_duty(
        engineer,
        "  Empty   the trap ",
        place="Under the lathe",
        why="Chip burns.",
        meter=chip,
        meter_amount=5000,
        for_person=assistant,
        authority="Change Cylinder",
        sheet="chip",
        is_critical=True,
        late_grade=LateGrade.HOLD,
        put_off_limit=0,
        source="common practice, no source",
        steps=(WantedStep("Wet the chip", wants_photo=True), read_step(" Read  it ")),
        touches=(WantedTouch("reset-meter", chip.pk),),
    )
    kept = again(duty)
    assert kept.name == "Empty the trap"
    assert kept.authority == "change-cylinder"
    assert kept.how_often == "every week on Monday, or at 5 g on “Chip in the trap” if that comes first"
    assert kept.whose == "Asta Pellow"
    assert [(one.text, one.reads, one.low, one.wants_photo) for one in steps_of(kept)] == [
        ("Wet the chip", "", None, True),
        ("Read it", "Gauge", 10.0, False),
    ]
    assert kept.resets_own_meter
    assert effects.words_of(list(kept.touches.all()), engineer) == ["brings the meter “Chip in the trap” to zero"]


@pytest.mark.parametrize(
    ("other", "field", "sentence"),
    [
        ({"name": " "}, "name", "Write something"),
        ({"name": "x" * 81}, "name", "80 characters"),
        ({"rule": ""}, "often", "Say when it falls due"),
        ({"rule": "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"}, "rule", "never falls due"),
        ({"rule": "FREQ=SECONDLY"}, "rule", "once a day at most"),
        ({"rule": "FREQ=WEEKLY;UNTIL=20250101"}, "rule", "before its first day"),
        ({"rule": "whenever"}, "rule", "is not a part of a rule"),
        ({"rule": "FREQ=DAILY;COUNT=3", "counts_from": "entry"}, "rule", "COUNT can't be told"),
        ({"starts_on": date(1900, 1, 1)}, "starts_on", "between 1970 and 2200"),
        ({"meter_amount": 5}, "meter", "Choose the meter"),
        ({"early_days": -1}, "early_days", "from 0 to 366"),
        ({"late_days": 1000}, "late_days", "from 0 to 366"),
        ({"put_off_limit": 51}, "put_off_limit", "from 0 to 50"),
        ({"late_grade": LateGrade.HOLD}, "late_grade", "Only what is safety-critical"),
        ({"for_role": "visitor"}, "for_role", "A visitor does no care"),
        ({"authority": "§ 12"}, "authority", "letters, digits and hyphens"),
        ({"sheet": "x" * 50}, "sheet", "letters, digits and hyphens"),
        ({"steps": tuple(WantedStep(f"{n}") for n in range(21))}, "steps", "at most 20 steps"),
        ({"steps": (WantedStep(" "),)}, "steps", "Write something"),
        ({"steps": (read_step(low=3.0, high=2.0),)}, "steps", "lies above the highest"),
        ({"steps": (read_step(quantity="weight"),)}, "steps", "Choose what is measured"),
        ({"touches": (WantedTouch("reset-meter", 99),)}, "touches", "no longer there"),
        ({"touches": (WantedTouch("feed-the-cat", 1),)}, "touches", "no longer there"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(engineer, other, field, sentence):
    with pytest.raises(Refused, match=sentence) as no:
        make_duty(engineer, **other)
    assert no.value.field == field
    assert not Duty.objects.exists()


def test_a_meter_without_an_amount_is_refused(engineer):
    with pytest.raises(Refused, match="Say at how much") as no:
        make_duty(engineer, meter=make_meter(), meter_amount=0)
    assert no.value.field == "meter_amount"


def test_one_thing_is_not_touched_twice(engineer):
    twice = (WantedTouch("reset-meter", make_meter().pk),) * 2
    with pytest.raises(Refused, match="touched twice"):
        make_duty(engineer, touches=twice)


def test_a_visitor_is_given_no_care_and_role_and_person_are_not_both_given(engineer, assistant, visitor):
    with pytest.raises(Refused, match="does no care here"):
        make_duty(engineer, for_person=visitor)
    with pytest.raises(Refused, match="not both"):
        make_duty(engineer, for_person=assistant, for_role="assistant")


def test_a_name_is_had_once(engineer):
    make_duty(engineer)
    with pytest.raises(Refused, match="a duty of that name") as no:
        make_duty(engineer, "WIPE the ports")
    assert no.value.field == "name"


@pytest.mark.parametrize("act", ["add_duty", "change_duty", "stop_duty", "resume_duty"])
def test_only_engineers_keep_the_list(assistant, engineer, act):
    duty = make_duty(engineer)
    more = {
        "add_duty": {"facts": facts("Other")},
        "change_duty": {"duty": duty, "version": 1, "facts": facts("Other")},
        "stop_duty": {"duty": duty, "why": "No."},
        "resume_duty": {"duty": duty},
    }[act]
    with pytest.raises(NotAllowed):
        getattr(actions, act)(by=assistant, once=uuid4(), **more)


def test_pressing_twice_adds_one(engineer):
    once = uuid4()
    first = actions.add_duty(by=engineer, once=once, facts=facts())
    assert actions.add_duty(by=engineer, once=once, facts=facts()) == first
    assert Duty.objects.count() == 1


# Changing -------------------------------------------------------------------------------------------------------------


def change(by, duty, **other):
    return actions.change_duty(by=by, once=uuid4(), duty=duty, **{"version": duty.version, "facts": facts()} | other)


def test_changing_counts_the_version_and_works_out_anew_when_it_is_due(engineer, assistant):
    duty = make_duty(engineer)
    do(assistant, duty)
    changed = change(engineer, duty, facts=facts(rule="FREQ=DAILY;INTERVAL=3", counts_from="entry"))
    assert (changed.version, changed.due_on) == (2, date(2025, 3, 6))
    with pytest.raises(Changed, match="Somebody changed this"):
        change(engineer, duty)


def test_a_step_that_says_the_same_stays_the_same(engineer, assistant):
    duty = make_duty(engineer, steps=(WantedStep("One"), read_step("Two")))
    first, second = steps_of(duty)
    do(assistant, duty, steps=[actions.StepDone(first, True), actions.StepDone(second, True, 12.0)])
    change(engineer, duty, facts=facts(steps=(read_step("Two", low=11.0), WantedStep("Three"))))
    now = steps_of(duty)
    assert [one.text for one in now] == ["Two", "Three"]
    assert (now[0].pk, now[0].low) == (second.pk, 11.0)
    assert DutyStep.objects.get(pk=first.pk).is_active is False, "kept for the entries that name it"
    change(engineer, again(duty), facts=facts())
    assert steps_of(duty) == []


def test_another_meter_is_counted_anew_from_the_last_entry(engineer, assistant, at):
    chip, cut = make_meter(), make_meter("cut")
    duty = make_trap_duty(engineer, chip)
    step(assistant, "cut", 3600)
    with at("2025-03-03 09:00"):
        do(assistant, duty)
    with at("2025-03-03 12:00"):
        step(assistant, "cut", 7200)
        changed = change(engineer, duty, facts=facts(rule="", meter=cut, meter_amount=7200))
    assert (changed.counted, changed.reached_at) == (7200, moment("2025-03-03 12:00"))
    assert not changed.resets_own_meter


# Stopping -------------------------------------------------------------------------------------------------------------


def test_a_stopped_duty_is_never_due_and_takes_no_entry(engineer, assistant):
    duty = make_duty(engineer)
    stopped = actions.stop_duty(by=engineer, once=uuid4(), duty=duty, why="The pump is gone.")
    assert (stopped.due_at, stopped.stopped_why, stopped.stopped_by) == (None, "The pump is gone.", engineer)
    with pytest.raises(Changed, match="stopped"):
        do(assistant, duty)
    with pytest.raises(Changed, match="stopped already"):
        actions.stop_duty(by=engineer, once=uuid4(), duty=duty, why="Again.")


def test_taken_up_again_it_is_due_by_its_plan_and_what_went_by_stays_gone(engineer, assistant, at):
    fortnightly = make_duty(engineer, rule="FREQ=WEEKLY;INTERVAL=2;BYDAY=MO")
    ninety = make_duty(engineer, "Oil", rule="FREQ=DAILY;INTERVAL=90", counts_from="entry")
    for duty in (fortnightly, ninety):
        actions.stop_duty(by=engineer, once=uuid4(), duty=duty, why="Away.")
    with at("2025-06-18 10:00"):
        taken = [actions.resume_duty(by=engineer, once=uuid4(), duty=duty) for duty in (fortnightly, ninety)]
    assert [duty.due_on for duty in taken] == [date(2025, 6, 23), date(2025, 6, 18)]
    with pytest.raises(Changed, match="not stopped"):
        actions.resume_duty(by=engineer, once=uuid4(), duty=fortnightly)


@pytest.mark.parametrize(
    ("rule", "sentence"),
    [("FREQ=WEEKLY;UNTIL=20250401", "come to its end"), ("FREQ=WEEKLY;COUNT=9", "counts its times")],
)
def test_a_rule_that_is_over_is_not_taken_up_again(engineer, at, rule, sentence):
    duty = make_duty(engineer, rule=rule)
    actions.stop_duty(by=engineer, once=uuid4(), duty=duty, why="Away.")
    with at("2025-06-18 10:00"), pytest.raises(Refused, match=sentence):
        actions.resume_duty(by=engineer, once=uuid4(), duty=duty)


def test_what_was_counted_while_it_was_stopped_does_not_count(engineer, assistant, at):
    duty = make_trap_duty(engineer, make_meter(), touches=())
    actions.stop_duty(by=engineer, once=uuid4(), duty=duty, why="Away.")
    step(assistant, "chip", 9000)
    with at("2025-03-04 08:00"):
        taken = actions.resume_duty(by=engineer, once=uuid4(), duty=duty)
    assert (taken.counted, taken.due_at) == (0, None)


def test_put_off_does_not_outlive_a_stop(engineer, at):
    duty = make_duty(engineer)
    put_off(engineer, duty, date(2025, 3, 7))
    actions.stop_duty(by=engineer, once=uuid4(), duty=duty, why="Away.")
    with at("2025-03-04 08:00"):
        taken = actions.resume_duty(by=engineer, once=uuid4(), duty=duty)
    assert (taken.put_offs, taken.due_on) == (0, date(2025, 3, 10))
