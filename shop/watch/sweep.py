"""The sweep: concerns become alerts, and the wish to tell of them is written with them.

It reads all concerns, compares them with the alerts that are open, and writes what changed in one transaction. What it
reads takes a number of queries that does not grow with the room; what changed is written many rows at once. It may run
at any time and as often as one likes.

A value on the edge does not flap: an alert ends, or is graded lighter, only after its concern stayed away or lighter
for the shop's own time; a graver one is graver at once.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import transaction

from shop import clock
from shop.concern import FAILED, Concern, Grade, gather
from shop.recall import looking
from shop.watch import line as lines
from shop.watch import rules
from shop.watch.models import Alert, AlertStep, Delivery, DeliveryKind, StepKind, WatchRules

#: The name of its recurring job.
SWEEP = "watch: sweep"

#: What a sweep may change of an alert.
_CHANGES = (
    *("grade", "subject", "headline", "reason", "what_to_do", "link", "amounts", "by"),
    *("gone_since", "lighter_since", "ended_at"),
    *("taken_by_id", "taken_at", "snoozed_until", "settled_at", "with_person_id", "passed_at", "is_with_all"),
)
#: Rows in one statement.
_BATCH = 400


@dataclass
class Swept:
    """What a sweep did: how many alerts it opened, ended, graded anew and passed on, and how many stand open."""

    opened: int = 0
    ended: int = 0
    regraded: int = 0
    passed_on: int = 0
    standing: int = 0

    def __str__(self) -> str:
        did = f"{self.opened} raised, {self.ended} gone, {self.regraded} graded anew, {self.passed_on} passed on"
        return f"{did}; {self.standing} stand"


@dataclass
class _Work:
    now: datetime
    shop: WatchRules
    line: lines.Line
    new: list[Alert] = field(default_factory=list)
    steps: list[AlertStep] = field(default_factory=list)
    tell: list[Alert] = field(default_factory=list)
    said: Swept = field(default_factory=Swept)

    def note(self, alert: Alert, kind: StepKind, note: str = "") -> None:
        self.steps.append(AlertStep(alert=alert, kind=kind, at=self.now, note=note))


def sweep(now: datetime | None = None) -> Swept:
    """Bring the alerts up to date with the concerns as they are at `now`."""
    now = now or clock.now()
    with looking():  # several apps look at the same shelf and the same heads
        seen = {concern.key: concern for concern in gather(now)}
    with transaction.atomic():
        shop = rules.the_rules(locked=True)  # sweeps go one after another
        work = _Work(now, shop, lines.the_line())
        standing = {alert.key: alert for alert in Alert.objects.filter(ended_at__isnull=True)}
        before = {alert.pk: _as_it_is(alert) for alert in standing.values()}
        unread = {key.removeprefix(FAILED) for key in seen if key.startswith(FAILED)}
        for key, concern in seen.items():
            if key in standing:
                _see(standing[key], concern, work)
            else:
                _open(concern, work)
        for key, alert in standing.items():
            if key not in seen and alert.topic not in unread:
                _miss(alert, work)
            if alert.ended_at is None:
                _wake(alert, work)
                _pass_on(alert, work)
        _write(work, [alert for alert in standing.values() if _as_it_is(alert) != before[alert.pk]])
        work.said.standing = len(standing) + len(work.new) - work.said.ended
    return work.said


def _as_it_is(alert: Alert) -> tuple[object, ...]:
    return tuple(getattr(alert, name) for name in _CHANGES)


def _put(alert: Alert, concern: Concern) -> None:
    alert.subject, alert.headline = concern.subject[:200], concern.headline[:500]
    alert.reason, alert.what_to_do = concern.reason, concern.what_to_do
    alert.link, alert.by = concern.link[:300], concern.by
    alert.amounts = [list(one) for one in concern.quantities]


def _open(concern: Concern, work: _Work) -> None:
    alert = Alert(key=concern.key[:160], grade=int(concern.grade), opened_at=work.now)
    _put(alert, concern)
    if concern.grade >= Grade.CARE:
        alert.with_person, alert.passed_at = work.line.first, work.now
    work.new.append(alert)
    work.note(alert, StepKind.OPENED, concern.grade.word)
    if alert.is_hold:
        work.tell.append(alert)
    work.said.opened += 1


def _see(alert: Alert, concern: Concern, work: _Work) -> None:
    """The concern is still there."""
    _put(alert, concern)
    alert.gone_since = None
    if concern.grade > alert.grade:
        _grow_graver(alert, concern.grade, work)
    elif concern.grade < alert.grade:
        alert.lighter_since = alert.lighter_since or work.now
        if work.now - alert.lighter_since >= timedelta(minutes=work.shop.settle_minutes):
            alert.grade, alert.lighter_since = int(concern.grade), None
            work.note(alert, StepKind.LIGHTER, concern.grade.word)
            work.said.regraded += 1
    else:
        alert.lighter_since = None


def _grow_graver(alert: Alert, grade: Grade, work: _Work) -> None:
    """What was settled or snoozed was so at its old grade: it speaks again."""
    alert.grade, alert.lighter_since = int(grade), None
    alert.settled_at = alert.snoozed_until = None
    work.note(alert, StepKind.GRAVER, grade.word)
    work.said.regraded += 1
    if alert.taken_by_id is None:
        alert.with_person, alert.passed_at, alert.is_with_all = work.line.first, work.now, False
    if alert.is_hold:
        work.tell.append(alert)


def _miss(alert: Alert, work: _Work) -> None:
    """The concern is not there now."""
    alert.gone_since = alert.gone_since or work.now
    if work.now - alert.gone_since >= timedelta(minutes=work.shop.settle_minutes):
        alert.ended_at = work.now
        work.note(alert, StepKind.ENDED)
        work.said.ended += 1


def _wake(alert: Alert, work: _Work) -> None:
    """One whose snooze is over is nobody's again, and begins with whoever snoozed it."""
    if alert.snoozed_until is None or alert.snoozed_until > work.now:
        return
    if alert.taken_by_id is not None:
        alert.with_person_id = alert.taken_by_id
    alert.snoozed_until = alert.taken_by = alert.taken_at = None
    alert.passed_at, alert.is_with_all = work.now, False
    work.note(alert, StepKind.WOKEN)


def _pass_on(alert: Alert, work: _Work) -> None:
    """One that nobody took on in time goes to the next in line; after the last, to the owners."""
    waits = {Grade.HOLD: work.shop.hold_minutes, Grade.CARE: work.shop.care_minutes}.get(Grade(alert.grade))
    if waits is None or alert.taken_by_id or alert.is_with_all or alert.is_quiet(work.now) or alert.gone_since:
        return
    if alert.passed_at is not None and work.now - alert.passed_at < timedelta(minutes=waits):
        return
    in_line = any(person.pk == alert.with_person_id for person in work.line.people)
    following = work.line.after(alert.with_person_id) if in_line else work.line.first
    alert.passed_at = work.now
    if following is None:
        alert.is_with_all = True
        work.note(alert, StepKind.PASSED_ON, "to the owners: nobody in line took it on")
    else:
        alert.with_person = following
        work.note(alert, StepKind.PASSED_ON, f"to {following.name}")
    work.said.passed_on += 1
    if alert.is_hold:
        work.tell.append(alert)


def _write(work: _Work, changed: list[Alert]) -> None:
    Alert.objects.bulk_create(work.new, batch_size=_BATCH)
    # Rows that are there already, written by their key: many times quicker than bulk_update's CASE for each column.
    Alert.objects.bulk_create(
        changed,
        batch_size=_BATCH,
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=[name.removesuffix("_id") for name in _CHANGES],
    )
    AlertStep.objects.bulk_create(work.steps, batch_size=_BATCH)
    wishes = [wish for alert in work.tell for wish in _wishes_to_tell(alert, work)]
    Delivery.objects.bulk_create(wishes, batch_size=_BATCH, ignore_conflicts=True)


def _wishes_to_tell(alert: Alert, work: _Work) -> Iterable[Delivery]:
    """Mails that tell of a hold at once, one for each person and grade however often it is wished. Quiet hours put off
    the sending, not the wish."""
    line = work.line
    people = line.told_regardless() if alert.is_with_all else line.to_tell_at_once(alert.with_person_id)
    for person in people:
        yield Delivery(
            person=person,
            kind=DeliveryKind.AT_ONCE,
            occasion=f"alert:{alert.pk}:{alert.grade}",
            alert=alert,
            made_at=work.now,
            not_before=lines.end_of_quiet(lines.wishes_of(person), work.now),
        )
