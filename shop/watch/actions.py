"""What can be done about alerts, and how people wish to be told."""

from collections.abc import Sequence
from datetime import datetime, time, timedelta

from shop import clock
from shop.people.models import EVERYONE, HANDS, OWNERS, Person
from shop.people.secrets import digest_of
from shop.press.action import action
from shop.press.rules import still_as_read, words
from shop.refusal import Refused
from shop.watch import rules
from shop.watch.line import the_line
from shop.watch.models import Alert, AlertStep, FeedKey, StepKind, WatchRules, Wishes
from shop.watch.topics import TOPICS


def _standing(alert: Alert) -> Alert:
    """The alert as it now stands, its row ours until the transaction ends."""
    fresh = Alert.objects.select_for_update(of=("self",)).get(pk=alert.pk)
    if fresh.ended_at is not None:
        raise Refused("What it was about is gone, so there is nothing left to do.")
    return fresh


def _step(alert: Alert, kind: StepKind, by: Person, note: str = "") -> None:
    AlertStep.objects.create(alert=alert, kind=kind, at=clock.now(), by=by, note=note)


@action(roles=HANDS)
def take_alert(*, by: Person, alert: Alert, note: str = "") -> Alert:
    """Take it on: it no longer goes down the line. One that somebody else has may be taken over; that is kept."""
    fresh = _standing(alert)
    if fresh.taken_by_id == by.pk and not fresh.settled_at:
        raise Refused("You look after it already.")
    fresh.taken_by, fresh.taken_at = by, clock.now()
    fresh.settled_at = fresh.snoozed_until = None
    fresh.save(update_fields=["taken_by", "taken_at", "settled_at", "snoozed_until"])
    _step(fresh, StepKind.TAKEN, by, words(note, field="note", longest=300))
    return fresh


@action(roles=HANDS)
def give_back_alert(*, by: Person, alert: Alert, note: str) -> Alert:
    """Look after it no longer: it goes to the first in line again, with a word why."""
    fresh = _standing(alert)
    if fresh.taken_by_id is None:
        raise Refused("Nobody looks after it yet.")
    said = words(note, field="note", longest=300, needed=True)
    fresh.taken_by = fresh.taken_at = fresh.snoozed_until = None
    fresh.with_person, fresh.passed_at, fresh.is_with_all = the_line().first, clock.now(), False
    fresh.save(update_fields=["taken_by", "taken_at", "snoozed_until", "with_person", "passed_at", "is_with_all"])
    _step(fresh, StepKind.GIVEN_BACK, by, said)
    return fresh


@action(roles=HANDS)
def snooze_alert(*, by: Person, alert: Alert, until: datetime, note: str = "") -> Alert:
    """Let it be quiet until a time, and look after it till then; afterwards it is nobody's again.

    A hold may be snoozed no longer than the shop's rule says. It stays on the pages all the while.
    """
    fresh = _standing(alert)
    now = clock.now()
    if until <= now:
        raise Refused("Give a time to come.", field="until")
    longest = rules.the_rules().snooze_hours
    if fresh.is_hold and until > now + timedelta(hours=longest):
        raise Refused(f"A hold may be snoozed for {longest} hours at most, by this shop's rule.", field="until")
    if until > now + timedelta(days=90):
        raise Refused("That is more than ninety days off. Settle it with a word instead.", field="until")
    fresh.snoozed_until, fresh.taken_by, fresh.taken_at = until, by, now
    fresh.save(update_fields=["snoozed_until", "taken_by", "taken_at"])
    _step(fresh, StepKind.SNOOZED, by, words(note, field="note", longest=300))
    return fresh


@action(roles=HANDS)
def settle_alert(*, by: Person, alert: Alert, word: str) -> Alert:
    """Say that nothing more is to be done: quiet from now on, unless it grows graver.

    A hold is not settled by a word: it ends when its cause does. A settled alert stays on the pages while the concern
    does.
    """
    fresh = _standing(alert)
    said = words(word, field="word", longest=300, needed=True)
    if fresh.is_hold:
        raise Refused("A hold is not settled by a word. Put right what it is about, or take it on.", field="word")
    if fresh.settled_at is not None:
        raise Refused("It was settled already.")
    fresh.settled_at, fresh.snoozed_until = clock.now(), None
    fresh.save(update_fields=["settled_at", "snoozed_until"])
    _step(fresh, StepKind.SETTLED, by, said)
    return fresh


@action(roles=OWNERS)
def change_watch_rules(
    *, by: Person, version: int, settle_minutes: int, hold_minutes: int, care_minutes: int, snooze_hours: int
) -> WatchRules:
    """Set the shop's own times. Raises Changed if somebody changed them since `version`."""
    fresh = still_as_read(rules.the_rules(), version)
    for field, value, low, high in (
        ("settle_minutes", settle_minutes, 0, 1440),
        ("hold_minutes", hold_minutes, 5, 1440),
        ("care_minutes", care_minutes, 5, 10_080),
        ("snooze_hours", snooze_hours, 1, 24),
    ):
        if not low <= value <= high:
            raise Refused(f"Give a number from {low} to {high}.", field=field)
        setattr(fresh, field, value)
    fresh.version += 1
    fresh.save()
    return fresh


@action(roles=OWNERS)
def set_line(*, by: Person, people: Sequence[Person]) -> WatchRules:
    """Set who looks after alerts, in this order; nobody means the engineers and then the owners.

    Refuses somebody twice, somebody switched off, and a visitor.
    """
    ids = [person.pk for person in people]
    if len(set(ids)) != len(ids):
        raise Refused("Somebody stands in the line twice.", field="people")
    for person in people:
        if not person.is_active or not person.is_hand:
            raise Refused(f"{person.name} cannot do anything about an alert here.", field="people")
    Wishes.objects.exclude(person__in=ids).update(turn=None)
    for place, person in enumerate(people, start=1):
        Wishes.objects.update_or_create(person=person, defaults={"turn": place})
    return rules.the_rules()


@action(roles=EVERYONE)
def change_wishes(
    *,
    by: Person,
    version: int,
    morning_mail: bool,
    mail_at: time,
    at_once: bool,
    quiet_from: time,
    quiet_to: time,
    muted: Sequence[str] = (),
) -> Wishes:
    """Set how one wishes to be told. Raises Changed if it was changed since `version` (0: there was none yet).

    An owner may wish not to be written to at once; where nobody else would be, a hold is written of all the same.
    """
    row, fresh = Wishes.objects.get_or_create(person=by)
    row = still_as_read(row, row.version if fresh else version)
    unknown = set(muted) - set(TOPICS)
    if unknown:
        raise Refused("Choose among the topics shown.", field="muted")
    row.morning_mail, row.mail_at, row.at_once = morning_mail, mail_at, at_once
    row.quiet_from, row.quiet_to, row.muted = quiet_from, quiet_to, sorted(muted)
    row.version += 1
    row.save(update_fields=["morning_mail", "mail_at", "at_once", "quiet_from", "quiet_to", "muted", "version"])
    return row


@action(roles=EVERYONE)
def leave_mail(*, by: Person, kind: str) -> Wishes:
    """Stop one kind of mail: what the link in each mail does, by whoever has that mail."""
    row, _ = Wishes.objects.get_or_create(person=by)
    row = Wishes.objects.select_for_update().get(pk=row.pk)
    setattr(row, {"morning": "morning_mail", "at_once": "at_once"}[kind], False)
    row.version += 1
    row.save(update_fields=["morning_mail", "at_once", "version"])
    return row


@action(roles=EVERYONE)
def renew_feed(*, by: Person, secret: str) -> FeedKey:
    """Make one's feed address anew with a fresh secret (of secrets.new_secret); the old address stops at once."""
    key, _ = FeedKey.objects.update_or_create(person=by, defaults={"digest": digest_of(secret), "made_at": clock.now()})
    return key


@action(roles=EVERYONE)
def close_feed(*, by: Person) -> None:
    """Have no feed address any more."""
    FeedKey.objects.filter(person=by).delete()
