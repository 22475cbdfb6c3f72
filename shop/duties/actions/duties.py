"""Adding a duty, changing it, stopping it, and taking it up again."""

from datetime import date, timedelta
from typing import Any

from django.db.models import F

from shop import clock
from shop.calc import due as calc
from shop.duties import effects, rules, standing
from shop.duties.models import Duty, DutyStep, Touch
from shop.duties.rules import Facts
from shop.people.models import ENGINEERS, Person
from shop.press.action import action
from shop.press.rules import CHANGED, one_of_its_name, words
from shop.refusal import Changed, Refused

#: The facts that are columns of the duty.
_COLUMNS = [
    "name",
    "place",
    "why",
    "rule",
    "starts_on",
    "at",
    "counts_from",
    "meter",
    "meter_amount",
    "early_days",
    "late_days",
    "for_role",
    "for_person",
    "authority",
    "sheet",
    "is_critical",
    "late_grade",
    "put_off_limit",
    "source",
]


@action(roles=ENGINEERS)
def add_duty(*, by: Person, facts: Facts) -> Duty:
    """Let something fall due from now on."""
    return begin_duty(facts)


def begin_duty(facts: Facts) -> Duty:
    """Let something fall due from now on; for actions, within their transaction.

    1. checks the facts, the rule among them; 2. makes the duty, its steps and what it touches; 3. works out when it is
    due first.
    """
    told = rules.checked(facts)
    with one_of_its_name(rules.TWICE):
        duty = Duty.objects.create(**{name: getattr(told, name) for name in _COLUMNS}, begun_at=clock.now())
    _set_steps(duty, told)
    _set_touches(duty, told)
    standing.count_again(duty)
    standing.keep(duty)
    return duty


@action(roles=ENGINEERS)
def change_duty(*, by: Person, duty: Duty, version: int, facts: Facts) -> Duty:
    """Let it be otherwise from now on; what is recorded keeps its words. Changed if `version` is stale.

    When it is due next is worked out anew, from its last entry.
    """
    told = rules.checked(facts, duty)
    columns: dict[str, Any] = {name: getattr(told, name) for name in _COLUMNS}
    with one_of_its_name(rules.TWICE):
        done = Duty.objects.filter(pk=duty.pk, version=version).update(**columns, version=F("version") + 1)
    if not done:
        raise Changed(CHANGED)
    changed = Duty.objects.select_related("meter", "last_entry").get(pk=duty.pk)
    _set_steps(changed, told)
    _set_touches(changed, told)
    standing.count_again(changed)
    standing.keep(changed)
    return changed


def _set_steps(duty: Duty, told: Facts) -> None:
    """Its steps in their order. One that says what it said is the same; one that is gone is kept for the entries."""
    before = {(step.text, step.reads, step.quantity, step.unit): step for step in duty.steps.filter(is_active=True)}
    for order, wanted in enumerate(told.steps, 1):
        limits = {"order": order, "low": wanted.low, "high": wanted.high, "wants_photo": wanted.wants_photo}
        kept = before.pop((wanted.text, wanted.reads, wanted.quantity, wanted.unit), None)
        if kept is not None:
            DutyStep.objects.filter(pk=kept.pk).update(**limits)
        else:
            facts = {"text": wanted.text, "reads": wanted.reads, "quantity": wanted.quantity, "unit": wanted.unit}
            DutyStep.objects.create(duty=duty, **facts, **limits)
    DutyStep.objects.filter(pk__in=[step.pk for step in before.values()]).update(is_active=False)


def _set_touches(duty: Duty, told: Facts) -> None:
    duty.touches.all().delete()
    names = {effect.kind: {target.id: target.name for target in effect.targets()} for effect in effects.every()}
    Touch.objects.bulk_create(
        Touch(
            duty=duty,
            kind=touch.kind,
            target=touch.target,
            target_name=names[touch.kind][touch.target][:80],
            amount=touch.amount,
        )
        for touch in told.touches
    )
    duty.resets_own_meter = any(
        touch.kind == effects.ResetMeter.kind and touch.target == duty.meter_id for touch in told.touches
    )


@action(roles=ENGINEERS)
def stop_duty(*, by: Person, duty: Duty, why: str) -> Duty:
    """Let it fall due no more, and keep why. Its entries stay. Refused if it is stopped already."""
    why = words(why, field="why", longest=300, needed=True)
    held = Duty.objects.select_for_update().get(pk=duty.pk)
    if not held.is_active:
        raise Changed("It is stopped already.")
    held.is_active, held.stopped_at, held.stopped_by, held.stopped_why = False, clock.now(), by, why
    held.version += 1
    standing.keep(held)
    held.save(update_fields=["is_active", "stopped_at", "stopped_by", "stopped_why", "version"])
    return held


@action(roles=ENGINEERS)
def resume_duty(*, by: Person, duty: Duty) -> Duty:
    """Let it fall due again from today on, in step with its plan. What went by while it was stopped stays gone by.

    Refused if its rule has come to its end, or counts its times.
    """
    held = Duty.objects.select_for_update(of=("self",)).select_related("meter", "last_entry").get(pk=duty.pk)
    if held.is_active:
        raise Changed("It is not stopped.")
    held.is_active, held.stopped_at, held.stopped_by, held.stopped_why = True, None, None, ""
    held.version += 1
    held.starts_on, held.begun_at = _first_day_from(held, clock.today()), clock.now()
    held.put_offs, held.put_off_until = 0, None
    standing.count_again(held)
    standing.keep(held)
    held.save(update_fields=["is_active", "stopped_at", "stopped_by", "stopped_why", "version", "starts_on"])
    return held


def _first_day_from(duty: Duty, today: date) -> date:
    """From which day on it can fall due again: the next of its plan, or today."""
    calendar = duty.calendar(clock.zone_name())
    if calendar is None:
        return today
    rule = calc.read_rule(calendar.rule)
    if rule.count is not None:
        raise Refused("Its rule counts its times, and some went by. Change the rule, then take it up again.")
    last = calc.last_day(rule, calendar)
    first = calc.first_day(rule, calendar.start, after=max(today, calendar.start) - timedelta(days=1), last=last)
    if first is None:
        raise Refused("Its rule has come to its end. Change the rule, then take it up again.")
    return today if duty.counts_from_entry else first
