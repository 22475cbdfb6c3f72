"""Concerns become alerts: once each, without flapping, and down the line until somebody takes them on."""

from dataclasses import replace
from uuid import uuid4

import pytest

from shop.concern import Concern, Grade
from shop.watch import actions
from shop.watch.models import Alert, Delivery, StepKind
from shop.watch.sweep import sweep
from tests.makers import moment
from tests.watch.makers import GAS, TALC, with_address

pytestmark = pytest.mark.django_db


def steps(alert: Alert) -> list[str]:
    return list(alert.steps.values_list("kind", flat=True))


def test_a_new_key_opens_one_alert_however_often_it_is_seen(worries, engineer, at):
    worries.append(TALC)
    for minute in ("08:00", "08:05", "08:10"):
        with at(f"2025-03-03 {minute}"):
            sweep()
    alert = Alert.objects.get()
    assert (alert.grade, alert.headline, alert.with_person) == (Grade.CARE, TALC.headline, engineer)
    assert steps(alert) == [StepKind.OPENED]


def test_a_key_that_is_gone_for_the_shop_s_time_ends_it_and_coming_back_opens_another(worries, engineer, at):
    worries.append(TALC)
    with at("2025-03-03 08:00"):
        sweep()
    worries.clear()
    with at("2025-03-03 08:05"):
        sweep()
    assert Alert.objects.get().ended_at is None
    with at("2025-03-03 08:25"):
        sweep()
    assert steps(Alert.objects.get()) == [StepKind.OPENED, StepKind.ENDED]
    worries.append(TALC)
    with at("2025-03-03 09:00"):
        sweep()
    assert Alert.objects.filter(ended_at__isnull=True).count() == 1
    assert Alert.objects.count() == 2


def test_a_value_on_the_edge_does_not_flap(worries, engineer, at):
    for minute in range(0, 60, 5):
        worries[:] = [TALC] if minute % 10 == 0 else []
        with at(f"2025-03-03 08:{minute:02}"):
            sweep()
    assert steps(Alert.objects.get()) == [StepKind.OPENED]


def test_it_is_graver_at_once_and_lighter_only_after_a_while(worries, engineer, at):
    worries.append(TALC)
    with at("2025-03-03 08:00"):
        sweep()
    worries.grade(TALC.key, Grade.HOLD)
    with at("2025-03-03 08:05"):
        sweep()
    assert Alert.objects.get().grade == Grade.HOLD
    worries.grade(TALC.key, Grade.NOTE)
    for minute, grade in (("08:10", Grade.HOLD), ("08:25", Grade.HOLD), ("08:30", Grade.NOTE)):
        with at(f"2025-03-03 {minute}"):
            sweep()
        assert Alert.objects.get().grade == grade
    assert steps(Alert.objects.get()) == [StepKind.OPENED, StepKind.GRAVER, StepKind.LIGHTER]


def test_a_question_that_fails_ends_none_of_its_alerts(worries, engineer, at):
    worries.append(TALC)
    with at("2025-03-03 08:00"):
        sweep()
    failed = Concern("concern:failed:stock", Grade.HOLD, "Stock", "could not be read", "", "Look.", "/")
    worries[:] = [failed]
    for minute in ("08:05", "08:30", "09:00"):
        with at(f"2025-03-03 {minute}"):
            sweep()
    assert Alert.objects.get(key=TALC.key).ended_at is None


def test_a_hold_is_wished_to_be_told_once_to_the_first_in_line(worries, engineer, owner, at):
    with_address(engineer)
    with_address(owner)
    worries.append(GAS)
    for minute in ("08:00", "08:05", "08:10"):
        with at(f"2025-03-03 {minute}"):
            sweep()
    assert [delivery.person for delivery in Delivery.objects.all()] == [engineer]


def test_one_that_nobody_takes_on_goes_to_the_next_and_at_last_to_the_owners(worries, engineer, owner, at):
    with_address(engineer)
    with_address(owner)
    worries.append(GAS)
    seen = []
    for minute in ("08:00", "08:15", "08:30", "08:45", "09:00", "09:30"):
        with at(f"2025-03-03 {minute}"):
            sweep()
        alert = Alert.objects.get()
        seen.append((alert.with_person.name, alert.is_with_all))
    edvin, orla = (engineer.name, False), (owner.name, False)
    assert seen == [edvin, edvin, orla, orla, (owner.name, True), (owner.name, True)]
    assert [delivery.person for delivery in Delivery.objects.order_by("id")] == [engineer, owner]


def test_one_that_is_taken_on_stays_with_whoever_has_it(worries, engineer, owner, at):
    worries.append(GAS)
    with at("2025-03-03 08:00"):
        sweep()
        actions.take_alert(by=engineer, once=uuid4(), alert=Alert.objects.get())
    with at("2025-03-03 12:00"):
        sweep()
    assert Alert.objects.get().taken_by == engineer
    assert StepKind.PASSED_ON not in steps(Alert.objects.get())


def test_a_settled_one_is_quiet_until_it_grows_graver(worries, engineer, at):
    worries.append(TALC)
    with at("2025-03-03 08:00"):
        sweep()
        actions.settle_alert(by=engineer, once=uuid4(), alert=Alert.objects.get(), word="Ordered by telephone.")
    with at("2025-03-03 14:00"):
        sweep()
        assert Alert.objects.get().settled_at is not None
    worries.grade(TALC.key, Grade.HOLD)
    with at("2025-03-03 14:05"):
        sweep()
    assert Alert.objects.get().settled_at is None


def test_a_snoozed_hold_wakes_with_whoever_snoozed_it_and_goes_on_down_the_line(worries, engineer, owner, at):
    worries.append(GAS)
    with at("2025-03-03 08:00"):
        sweep()
        actions.snooze_alert(by=owner, once=uuid4(), alert=Alert.objects.get(), until=moment("2025-03-03 10:00"))
    with at("2025-03-03 09:00"):
        sweep()
    assert Alert.objects.get().taken_by == owner
    with at("2025-03-03 10:00"):
        sweep()
    alert = Alert.objects.get()
    assert (alert.taken_by, alert.with_person) == (None, owner)
    with at("2025-03-03 10:30"):
        sweep()
    assert Alert.objects.get().is_with_all


def test_a_hold_is_never_silenced_down_to_nobody(worries, engineer, owner, at):
    """Both wish for no mail at once; the owner is written to all the same."""
    with_address(engineer)
    with_address(owner)
    for person in (engineer, owner):
        actions.leave_mail(by=person, once=uuid4(), kind="at_once")
    worries.append(GAS)
    with at("2025-03-03 08:00"):
        sweep()
    assert [delivery.person for delivery in Delivery.objects.all()] == [owner]


@pytest.mark.parametrize("count", [3, 300])
def test_its_queries_do_not_grow_with_the_worries(worries, engineer, at, django_assert_max_num_queries, count):
    """Rows are written in batches; a sweep that finds nothing new writes none."""
    worries[:] = [replace(TALC, key=f"stock:low:item-{number}") for number in range(count)]
    with at("2025-03-03 08:00"):
        sweep()
    with at("2025-03-03 08:05"), django_assert_max_num_queries(8):
        sweep()
    assert Alert.objects.count() == count
