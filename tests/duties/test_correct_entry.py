"""Putting an entry right, striking one out: the old one stays, and what it moved is moved again or undone."""

from datetime import date
from uuid import uuid4

import pytest

from shop.duties import actions
from shop.duties.models import Entry, EntryKind, Touched
from shop.duties.queries import entry_in_full, touched_lines
from shop.duties.rules import WantedTouch
from shop.refusal import Changed, Doubtful, Refused
from shop.stock.models import Movement
from tests.duties.makers import again, do, done, make_duty, make_meter, make_trap_duty, put_off, step
from tests.makers import moment
from tests.stock.makers import make_item, make_lot

pytestmark = pytest.mark.usefixtures("monday")


def correct(by, entry, **other):
    usual = {"steps": done(entry.duty, readings={"Gauge": 13.0}), "note": "Misread the dial."}
    return actions.correct_entry(by=by, once=uuid4(), entry=entry, **usual | other)


def strike(by, entry, note="It was another room's."):
    return actions.strike_entry(by=by, once=uuid4(), entry=entry, note=note)


@pytest.fixture
def entry(weekly, assistant):
    return do(assistant, weekly, steps=done(weekly, readings={"Gauge": 12.0}))


def test_a_correction_names_the_old_one_which_stays(entry, engineer, at):
    with at("2025-03-03 10:00"):
        fresh = correct(engineer, entry)
    old = entry_in_full().get(pk=entry.pk)
    assert (fresh.corrects, fresh.kind, fresh.by) == (entry, EntryKind.DONE, engineer)
    assert (fresh.at, fresh.due_on, fresh.recorded_at) == (entry.at, entry.due_on, moment("2025-03-03 10:00"))
    assert old.is_corrected
    assert [one.reading for one in old.steps.all()] == [None, 12.0]
    assert [one.reading for one in fresh.steps.all()] == [None, 13.0]
    assert again(entry.duty).last_entry == fresh


def test_only_what_stands_is_put_right_and_only_what_was_done(entry, weekly, engineer, assistant, at):
    correct(engineer, entry)
    with pytest.raises(Changed, match="put right already"):
        correct(engineer, entry)
    with at("2025-03-10 09:00"), pytest.raises(Refused, match="Only what was done is put right"):
        correct(engineer, put_off(assistant, weekly, date(2025, 3, 12)))


def test_why_is_asked_for_and_readings_are_looked_at_again(entry, engineer):
    with pytest.raises(Refused, match="Write something") as no:
        correct(engineer, entry, note=" ")
    assert no.value.field == "note"
    with pytest.raises(Doubtful, match="above the shop's own"):
        correct(engineer, entry, steps=done(entry.duty, readings={"Gauge": 40.0}))


def test_another_time_is_another_next_day(engineer, assistant, at):
    duty = make_duty(engineer, rule="FREQ=DAILY;INTERVAL=10", counts_from="entry")
    entry = do(assistant, duty)
    with at("2025-03-04 08:00"):
        correct(assistant, entry, steps=[], at=moment("2025-03-01 18:00"))
    assert again(duty).due_on == date(2025, 3, 11)


def test_tomorrow_is_refused_here_too(entry, engineer):
    with pytest.raises(Refused, match="in the future"):
        correct(engineer, entry, at=moment("2025-03-04 09:00"))


def test_who_did_it_needs_the_authority_not_who_puts_it_right(engineer, assistant, at):
    duty = make_duty(engineer, authority="change-cylinder")
    entry = do(assistant, duty, under=engineer)
    with pytest.raises(Refused, match="which you don't have"):
        correct(engineer, entry, steps=[])
    assert correct(engineer, entry, steps=[], under=engineer if entry.by != engineer else None).under == engineer


# What it moved --------------------------------------------------------------------------------------------------------


@pytest.fixture
def hose(engineer):
    item = make_item(engineer, kind="part", unit="mm", blank_in=None, name="Hose")
    return make_lot(engineer, item, 4000)


@pytest.fixture
def changed_hose(engineer, assistant, hose):
    return do(assistant, make_duty(engineer, touches=(WantedTouch("take-stock", hose.item_id, 1500),)))


def left(lot):
    lot.refresh_from_db()
    return lot.on_hand


def test_what_was_right_is_not_moved_to_and_fro(changed_hose, hose, engineer):
    correct(engineer, changed_hose, steps=[], note="The remark was wrong.")
    assert left(hose) == 2500
    assert Movement.objects.filter(lot=hose).count() == 2  # it came in, it was used


def test_another_amount_is_taken_back_and_taken_anew(changed_hose, hose, engineer):
    touch = changed_hose.duty.touches.get()
    fresh = correct(engineer, changed_hose, steps=[], amounts={touch.pk: 700})
    assert left(hose) == 3300
    assert [(words, undone) for words, undone in touched_lines([fresh, changed_hose], engineer)] == [
        ("takes 1500\u00a0mm of Hose from stock", True),
        ("takes 700\u00a0mm of Hose from stock", False),
    ]
    third = correct(engineer, fresh, steps=[], amounts={touch.pk: 0}, note="From the other shelf.")
    assert left(hose) == 4000
    assert Touched.objects.filter(entry=third, undoes__isnull=False).count() == 1


def test_a_struck_entry_counts_no_more_and_what_it_moved_is_undone(changed_hose, hose, engineer):
    struck = strike(engineer, changed_hose)
    assert (struck.kind, struck.corrects, left(hose)) == (EntryKind.STRUCK, changed_hose, 4000)
    duty = again(changed_hose.duty)
    assert (duty.last_entry, duty.due_on) == (None, date(2025, 3, 3))
    with pytest.raises(Changed, match="strikes out another"):
        strike(engineer, struck)
    with pytest.raises(Changed, match="put right already"):
        strike(engineer, changed_hose)


def test_a_reset_that_never_was_leaves_the_trap_as_full_as_it_is(engineer, assistant, at):
    chip = make_meter()
    duty = make_trap_duty(engineer, chip)
    step(assistant, "chip", 5200)
    with at("2025-03-03 12:00"):
        entry = do(assistant, duty)
        step(assistant, "chip", 300)
    with at("2025-03-03 13:00"):
        strike(assistant, entry)
    chip.refresh_from_db()
    assert (chip.value, chip.reset_at) == (5500, None)
    kept = again(duty)
    assert (kept.counted, kept.due_on) == (5500, date(2025, 3, 3))


def test_a_reset_at_another_time_leaves_what_came_after_it(engineer, assistant, at):
    chip = make_meter()
    duty = make_trap_duty(engineer, chip)
    step(assistant, "chip", 5200)
    with at("2025-03-03 11:00"):
        step(assistant, "chip", 400)
    with at("2025-03-03 12:00"):
        entry = do(assistant, duty)
        correct(assistant, entry, steps=[], at=moment("2025-03-03 10:00"))
    chip.refresh_from_db()
    assert (chip.value, chip.reset_at) == (400, moment("2025-03-03 10:00"))
    assert again(duty).counted == 400


def test_a_reset_with_a_later_one_behind_it_stays(engineer, assistant, at):
    chip = make_meter()
    duty = make_trap_duty(engineer, chip)
    first = do(assistant, duty)
    with at("2025-03-05 12:00"):
        step(assistant, "chip", 300)
    with at("2025-03-06 12:00"):
        do(assistant, duty)
        strike(assistant, first)
    chip.refresh_from_db()
    assert (chip.value, chip.reset_at) == (0, moment("2025-03-06 12:00"))


def test_a_struck_put_off_brings_the_day_back(weekly, assistant):
    entry = put_off(assistant, weekly, date(2025, 3, 6))
    strike(assistant, entry)
    kept = again(weekly)
    assert (kept.put_offs, kept.put_off_until, kept.due_on) == (0, None, date(2025, 3, 3))


def test_a_visitor_puts_nothing_right(entry, visitor):
    from shop.refusal import NotAllowed

    for act in (correct, strike):
        with pytest.raises(NotAllowed):
            act(visitor, entry)
    assert Entry.objects.count() == 1
