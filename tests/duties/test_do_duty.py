"""Doing a duty: what is refused, what is asked, what it moves, and when it is due next."""

from datetime import date
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from shop.duties import actions
from shop.duties.actions import StepDone
from shop.duties.models import Entry, EntryKind, EntryStep, Meter, Photo, Touched
from shop.duties.photos import KeptPhoto
from shop.duties.rules import WantedStep, WantedTouch
from shop.people import authority
from shop.refusal import Changed, Doubtful, NotAllowed, NotEnough, Refused
from shop.stock.models import Movement
from shop.training import queries as training
from tests.duties.makers import (
    again,
    do,
    done,
    facts,
    make_duty,
    make_meter,
    make_trap_duty,
    put_off,
    step,
    steps_of,
)
from tests.makers import moment, together
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.usefixtures("monday")


def test_an_entry_keeps_who_when_steps_and_readings(weekly, assistant):
    entry = do(assistant, weekly, steps=done(weekly, readings={"Gauge": 12.5}), note=" all  well ")
    assert (entry.kind, entry.by, entry.signed_as, entry.note) == (EntryKind.DONE, assistant, "Asta Pellow", "all well")
    assert (entry.at, entry.due_on) == (moment("2025-03-03 09:10"), date(2025, 3, 3))
    assert [(one.text, one.is_done, one.reading, one.low, one.high) for one in entry.steps.all()] == [
        ("Wipe", True, None, None, None),
        ("Read the gauge", True, 12.5, 10.0, 15.0),
    ]
    kept = again(weekly)
    assert (kept.last_entry, kept.due_on) == (entry, date(2025, 3, 10))


def test_the_database_keeps_entries_as_they_were_signed(weekly, assistant):
    do(assistant, weekly, steps=done(weekly, readings={"Gauge": 12.5}))
    for spoil in (
        lambda: Entry.objects.update(note="x"),
        lambda: Entry.objects.all().delete(),
        lambda: EntryStep.objects.update(reading=1.0),
        lambda: EntryStep.objects.all().delete(),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            spoil()


def test_pressing_twice_is_one_entry(weekly, assistant):
    once = uuid4()
    typed = {"by": assistant, "once": once, "duty": weekly, "steps": done(weekly, readings={"Gauge": 12.0})}
    assert actions.do_duty(**typed) == actions.do_duty(**typed)
    assert Entry.objects.count() == 1


def test_a_visitor_does_nothing(weekly, visitor):
    with pytest.raises(NotAllowed):
        do(visitor, weekly)


# When -----------------------------------------------------------------------------------------------------------------


def test_tomorrow_is_refused(engineer, assistant):
    with pytest.raises(Refused, match="in the future") as no:
        do(assistant, make_duty(engineer), at=moment("2025-03-04 08:00"))
    assert no.value.field == "at"


def test_before_the_last_one_is_asked_and_then_settles_nothing(engineer, assistant, at):
    duty = make_duty(engineer)
    last = do(assistant, duty)
    early = {"at": moment("2025-03-02 18:00")}
    with pytest.raises(Doubtful, match="3 March 2025, 09:10, later than that") as asked:
        do(assistant, duty, **early)
    [doubt] = asked.value.doubts
    assert doubt.field == "at"
    entry = do(assistant, duty, **early, sure=[doubt.key])
    assert entry.due_on is None
    assert again(duty).last_entry == last


def test_done_already_today_is_asked(engineer, assistant, at):
    duty = make_duty(engineer)
    do(assistant, duty)
    with at("2025-03-03 11:00"), pytest.raises(Doubtful, match="Asta Pellow did it already, at 09:10"):
        do(engineer, duty)


def test_too_early_for_its_plan_is_asked_and_leaves_it_due(engineer, assistant, at):
    duty = make_duty(engineer, early_days=1)
    do(assistant, duty)
    with at("2025-03-08 10:00"):
        with pytest.raises(Doubtful, match="counts for that from Sunday 9 March 2025 on") as asked:
            do(assistant, duty)
        entry = do(assistant, duty, sure=[one.key for one in asked.value.doubts])
        assert (entry.due_on, again(duty).due_on) == (None, date(2025, 3, 10))
    with at("2025-03-09 10:00"):
        entry = do(assistant, duty)
        assert (entry.due_on, again(duty).due_on) == (date(2025, 3, 10), date(2025, 3, 17))


def test_from_the_last_entry_any_day_counts(engineer, assistant, at):
    duty = make_duty(engineer, rule="FREQ=DAILY;INTERVAL=10", counts_from="entry")
    do(assistant, duty)
    with at("2025-03-06 10:00"):
        do(assistant, duty)
    assert again(duty).due_on == date(2025, 3, 16)


def test_a_stale_list_of_steps_is_told(weekly, engineer, assistant):
    before = done(weekly, readings={"Gauge": 12.0})
    actions.change_duty(by=engineer, once=uuid4(), duty=weekly, version=1, facts=facts(steps=(WantedStep("Other"),)))
    with pytest.raises(Changed, match="steps were changed"):
        do(assistant, weekly, steps=before)


# Steps ----------------------------------------------------------------------------------------------------------------


def test_a_step_left_out_is_asked_about_at_its_field(weekly, assistant):
    steps = done(weekly, readings={"Gauge": 12.0}, undone=("Wipe",))
    with pytest.raises(Doubtful, match="not ticked") as asked:
        do(assistant, weekly, steps=steps)
    [doubt] = asked.value.doubts
    assert doubt.field == f"step{steps[0].step.pk}"
    assert doubt.tick == "Left out: Wipe"
    with pytest.raises(Refused, match="Say why it was left out") as no:
        do(assistant, weekly, steps=steps, sure=[doubt.key], note=" ")
    assert no.value.field == "note"
    entry = do(assistant, weekly, steps=steps, sure=[doubt.key], note="The cloths are out.")
    assert [one.is_done for one in entry.steps.all()] == [False, True]
    assert entry.what == "Done, 1 of 2 steps left out"


def test_what_is_safety_critical_is_not_done_with_every_step_left_out(engineer, assistant):
    duty = make_duty(engineer, steps=(WantedStep("Wipe"), WantedStep("Look")), is_critical=True)
    none, half = (done(duty, undone=names) for names in (("Wipe", "Look"), ("Wipe",)))
    sure = [f"left-out:{one.step.pk}" for one in none]
    with pytest.raises(Refused, match="An engineer or the owner puts it off, or says that it is not needed"):
        do(assistant, duty, steps=none, sure=sure, note="No time.")
    with pytest.raises(Refused, match="Put it off, or say that it is not needed"):
        do(engineer, duty, steps=none, sure=sure, note="No time.")
    entry = do(assistant, duty, steps=half, sure=sure, note="No time.")
    with pytest.raises(Refused, match="Strike the entry out"):
        actions.correct_entry(by=assistant, once=uuid4(), entry=entry, steps=none, sure=sure, note="None at all.")


def test_a_reading_that_is_missing_is_refused_unless_its_step_was_left_out(weekly, assistant):
    with pytest.raises(Refused, match="Give the reading") as no:
        do(assistant, weekly)
    gauge = steps_of(weekly)[1]
    assert no.value.field == f"step{gauge.pk}_reading"
    do(assistant, weekly, steps=done(weekly, undone=("Read the gauge",)), sure=[f"left-out:{gauge.pk}"], note="Away.")


def test_a_reading_outside_the_limits_is_asked_about_and_then_kept_as_amiss(weekly, assistant, at):
    steps = done(weekly, readings={"Gauge": 8.0})
    with pytest.raises(Doubtful, match=r"8.bar is below the shop's own 10.bar") as asked:
        do(assistant, weekly, steps=steps)
    do(assistant, weekly, steps=steps, sure=[one.key for one in asked.value.doubts])
    assert again(weekly).amiss == "Gauge: 8\u00a0bar is below the shop's own 10\u00a0bar"
    with at("2025-03-10 10:00"):
        do(assistant, weekly, steps=done(weekly, readings={"Gauge": 12.0}))
    assert again(weekly).amiss == ""


def test_a_photograph_goes_with_its_step(engineer, assistant):
    duty = make_duty(engineer, steps=(WantedStep("Look", wants_photo=True),))
    photo = KeptPhoto.of("ab" * 32, "0" * 32, 640, 480)
    entry = do(assistant, duty, steps=[StepDone(steps_of(duty)[0], True, photo=photo)])
    kept = Photo.objects.get()
    assert (kept.entry, kept.name, kept.width, kept.height) == (entry, "0" * 32, 640, 480)


# Who ------------------------------------------------------------------------------------------------------------------


@pytest.fixture
def trusted(engineer):
    return make_duty(engineer, "Change the cylinder", authority="change-cylinder")


@pytest.fixture
def kept_authorities():
    """Some room keeps authorities: those of the people in the set."""
    holders = set()
    authority.register_holders(lambda act, day: frozenset(holders) if act == "change-cylinder" else frozenset())
    yield holders
    authority.register_holders(training.holders)


def test_while_nobody_keeps_authorities_engineers_hold_them(trusted, assistant, engineer):
    with pytest.raises(Refused, match="authority “change cylinder”, which you don't have") as no:
        do(assistant, trusted)
    assert no.value.field == "under"
    entry = do(assistant, trusted, under=engineer)
    assert (entry.by, entry.under, entry.under_as) == (assistant, engineer, "Edvin Maarsk")


def test_once_they_are_kept_only_who_holds_one_may(trusted, assistant, engineer, kept_authorities):
    with pytest.raises(Refused, match="which you don't have"):
        do(engineer, trusted)
    kept_authorities.add(assistant.pk)
    assert do(assistant, trusted).under is None
    with pytest.raises(Refused, match="Edvin Maarsk does not have the authority"):
        do(assistant, trusted, under=engineer)


def test_nobody_watches_themselves_and_a_visitor_watches_nobody(engineer, assistant, visitor):
    duty = make_duty(engineer)
    with pytest.raises(Refused, match="watch yourself"):
        do(assistant, duty, under=assistant)
    with pytest.raises(Refused, match="place among those who work here"):
        do(assistant, duty, under=visitor)


# What it touches ------------------------------------------------------------------------------------------------------


def test_emptying_the_trap_resets_its_grams_and_its_own_count(engineer, assistant, at):
    chip = make_meter()
    duty = make_trap_duty(engineer, chip)
    step(assistant, "chip", 5200)
    assert again(duty).due_on == date(2025, 3, 3)
    with at("2025-03-03 17:00"):
        entry = do(assistant, duty)
    chip.refresh_from_db()
    assert (chip.value, chip.reset_at) == (0, moment("2025-03-03 17:00"))
    kept = again(duty)
    assert (kept.counted, kept.reached_at, kept.due_at) == (0, None, None)
    touched = Touched.objects.get()
    assert (touched.entry, touched.kind, touched.target_name) == (entry, "reset-meter", "Chip in the trap")


def test_what_was_cut_after_the_time_given_stays_in_the_trap(engineer, assistant, at):
    chip = make_meter()
    duty = make_trap_duty(engineer, chip)
    step(assistant, "chip", 5200)
    with at("2025-03-03 15:00"):
        step(assistant, "chip", 700)
    with at("2025-03-03 17:00"):
        do(assistant, duty, at=moment("2025-03-03 12:00"))
    chip.refresh_from_db()
    assert chip.value == 700
    assert again(duty).counted == 700


def test_changing_the_hose_takes_it_from_stock_first_expired_first(engineer, assistant):
    item = make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    first, second = (make_lot(engineer, item, quantity) for quantity in (500, 4000))
    duty = make_duty(engineer, touches=(WantedTouch("take-stock", item.pk, 1500),))
    entry = do(assistant, duty)
    for lot, left in ((first, 0), (second, 3000)):
        lot.refresh_from_db()
        assert lot.on_hand == left
    assert [row.amount for row in Touched.objects.filter(entry=entry)] == [500, 1000]
    assert set(Movement.objects.filter(kind="used").values_list("note", flat=True)) == {"Wipe the ports"}


def test_how_much_was_really_taken_may_differ_and_may_be_none(engineer, assistant, at):
    item = make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    lot = make_lot(engineer, item, 2000)
    duty = make_duty(engineer, rule="FREQ=DAILY", touches=(WantedTouch("take-stock", item.pk, 1500),))
    touch = duty.touches.get()
    do(assistant, duty, amounts={touch.pk: 0})
    lot.refresh_from_db()
    assert lot.on_hand == 2000
    with at("2025-03-04 09:00"):
        do(assistant, duty, amounts={touch.pk: 800})
    lot.refresh_from_db()
    assert lot.on_hand == 1200


def test_more_than_there_is_is_refused_at_its_field_and_nothing_is_written(engineer, assistant):
    item = make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    lot = make_lot(engineer, item, 400)
    duty = make_duty(engineer, touches=(WantedTouch("take-stock", item.pk, 1500),))
    with pytest.raises(NotEnough, match="There is only 400") as no:
        do(assistant, duty)
    assert no.value.field == f"touch{duty.touches.get().pk}"
    lot.refresh_from_db()
    assert (lot.on_hand, Entry.objects.count()) == (400, 0)


def test_a_movement_of_an_entry_is_undone_there_only(engineer, assistant):
    from shop.stock import actions as stock

    item = make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    make_lot(engineer, item, 2000)
    do(assistant, make_duty(engineer, touches=(WantedTouch("take-stock", item.pk, 1500),)))
    with pytest.raises(Refused, match=r"belongs to entry \d+"):
        stock.reverse_movement(by=assistant, once=uuid4(), movement=Movement.objects.get(kind="used"))


@pytest.mark.django_db(transaction=True)
def test_a_step_of_the_meter_and_the_emptying_of_it_at_the_same_moment_both_count(engineer, assistant):
    duty = make_trap_duty(engineer, make_meter())

    def cut(amount=10, when="2025-03-03 09:05"):
        with transaction.atomic():
            return step(assistant, "chip", amount, at=moment(when))

    cut(5000, "2025-03-03 09:00")
    found = together(*[cut] * 4, lambda: do(assistant, duty, at=moment("2025-03-03 09:01")))
    assert not [one for one in found if isinstance(one, Exception)]
    assert Meter.objects.get().value == 40
    assert again(duty).counted == 40


# Not needed, put off --------------------------------------------------------------------------------------------------


def test_not_needed_settles_it_and_touches_nothing(engineer, assistant):
    chip = make_meter()
    duty = make_trap_duty(engineer, chip, rule="FREQ=WEEKLY;BYDAY=MO", touches=(WantedTouch("reset-meter", chip.pk),))
    step(assistant, "chip", 300)
    entry = actions.not_needed(by=assistant, once=uuid4(), duty=duty, reason="Nothing was cut.")
    assert (entry.kind, entry.note) == (EntryKind.NOT_NEEDED, "Nothing was cut.")
    chip.refresh_from_db()
    assert chip.value == 300
    assert again(duty).due_on == date(2025, 3, 10)


def test_put_off_moves_the_day_and_is_counted(engineer, assistant):
    duty = make_duty(engineer, late_days=1, put_off_limit=2)
    entry = put_off(assistant, duty, date(2025, 3, 6))
    assert (entry.kind, entry.until, entry.due_on) == (EntryKind.PUT_OFF, date(2025, 3, 6), date(2025, 3, 3))
    kept = again(duty)
    assert (kept.due_on, kept.late_at) == (date(2025, 3, 6), moment("2025-03-08 00:00"))
    put_off(assistant, duty, date(2025, 3, 7))
    with pytest.raises(Refused, match="put off twice already, which is all that this shop allows"):
        put_off(assistant, duty, date(2025, 3, 8))


def test_doing_it_lets_it_be_put_off_again(engineer, assistant, at):
    duty = make_duty(engineer, put_off_limit=1)
    put_off(assistant, duty, date(2025, 3, 6))
    with at("2025-03-06 10:00"):
        entry = do(assistant, duty)
    assert entry.due_on == date(2025, 3, 6)
    assert again(duty).due_on == date(2025, 3, 10)
    with at("2025-03-10 10:00"):
        put_off(assistant, duty, date(2025, 3, 12))
        assert again(duty).put_offs == 1


@pytest.mark.parametrize(
    ("until", "sentence", "field"),
    [
        (date(2025, 3, 3), "a day to come", "until"),
        (date(2025, 2, 1), "a day to come", "until"),
        (date(2026, 3, 3), "more than 92 days away", "until"),
    ],
)
def test_put_off_to_a_day_that_will_not_do(engineer, assistant, until, sentence, field):
    with pytest.raises(Refused, match=sentence) as no:
        put_off(assistant, make_duty(engineer), until)
    assert no.value.field == field


def test_what_is_not_due_is_not_put_off(engineer, assistant):
    duty = make_duty(engineer)
    do(assistant, duty)
    with pytest.raises(Refused, match="not due before Monday 10 March 2025"):
        put_off(assistant, duty, date(2025, 3, 9))
    with pytest.raises(Refused, match="not due by its calendar or its meter yet"):
        put_off(assistant, make_trap_duty(engineer, make_meter()), date(2025, 3, 9))


def test_a_duty_may_allow_none(engineer, assistant):
    with pytest.raises(Refused, match="It may not be put off"):
        put_off(assistant, make_duty(engineer, put_off_limit=0), date(2025, 3, 9))


@pytest.mark.parametrize("reason", ["", "   "])
def test_without_a_reason_nothing_is_put_off_or_left_out(engineer, assistant, reason):
    duty = make_duty(engineer)
    with pytest.raises(Refused) as no:
        put_off(assistant, duty, date(2025, 3, 9), reason)
    assert no.value.field == "reason"
    with pytest.raises(Refused) as no:
        actions.not_needed(by=assistant, once=uuid4(), duty=duty, reason=reason)
    assert no.value.field == "reason"


def test_what_is_safety_critical_only_engineers_put_off_or_leave_out(engineer, assistant):
    duty = make_duty(engineer, is_critical=True)
    with pytest.raises(NotAllowed, match="safety-critical"):
        put_off(assistant, duty, date(2025, 3, 9))
    with pytest.raises(NotAllowed, match="safety-critical"):
        actions.not_needed(by=assistant, once=uuid4(), duty=duty, reason="No.")
    put_off(engineer, duty, date(2025, 3, 9))
