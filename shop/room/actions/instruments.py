"""Instruments that report by themselves: taken on, changed, their tokens revoked."""

from collections.abc import Collection

from shop import clock
from shop.people.models import OWNERS, Person
from shop.people.secrets import digest_of
from shop.press.action import action
from shop.press.rules import one_of_its_name, still_as_read, words
from shop.refusal import Refused
from shop.room.intake import missed_from
from shop.room.models import Instrument, ReadingKind

#: The longest time between two reports that is waited for, in minutes: a week.
MOST_MINUTES = 7 * 24 * 60
_TAKEN = "Another instrument has that name."


@action(roles=OWNERS)
def add_instrument(
    *,
    by: Person,
    secret: str,
    name: str,
    kinds: Collection[str],
    every_min: int | None = None,
    note: str = "",
) -> Instrument:
    """Take on an instrument, which may write `kinds` and no others. `secret` (of secrets.new_secret) is its token:
    shown once, and not kept. every_min: how often it reports; None where its files are brought by hand."""
    now = clock.now()
    given = _checked(name, kinds, every_min, note, but=None)
    with one_of_its_name(_TAKEN):
        return Instrument.objects.create(
            **given, digest=digest_of(secret), added_by=by, added_at=now, missed_at=missed_from(every_min, now)
        )


@action(roles=OWNERS)
def change_instrument(
    *,
    by: Person,
    instrument: Instrument,
    version: int,
    name: str,
    kinds: Collection[str],
    every_min: int | None = None,
    note: str = "",
) -> Instrument:
    """Change what it is called, what it may write and how often it reports. What it wrote stays."""
    fresh = _in_use(still_as_read(instrument, version))
    for field, value in _checked(name, kinds, every_min, note, but=fresh).items():
        setattr(fresh, field, value)
    fresh.missed_at = missed_from(every_min, fresh.kept_at or clock.now())
    fresh.version += 1
    with one_of_its_name(_TAKEN):
        fresh.save(update_fields=["name", "kinds", "every_min", "note", "missed_at", "version"])
    return fresh


@action(roles=OWNERS)
def revoke_instrument(*, by: Person, instrument: Instrument) -> Instrument:
    """Its token counts no more from now on, and it is missed no longer. What it wrote stays."""
    fresh = _in_use(Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk))
    fresh.revoked_at, fresh.revoked_by, fresh.missed_at = clock.now(), by, None
    fresh.save(update_fields=["revoked_at", "revoked_by", "missed_at"])
    return fresh


def _in_use(instrument: Instrument) -> Instrument:
    if instrument.revoked_at is not None:
        raise Refused("Its token was revoked already. Add it again to give it a new one.")
    return instrument


def _checked(
    name: str, kinds: Collection[str], every_min: int | None, note: str, *, but: Instrument | None
) -> dict[str, object]:
    called = words(name, field="name", longest=60, needed=True)
    others = Instrument.objects.filter(revoked_at=None, name__iexact=called)
    if (others if but is None else others.exclude(pk=but.pk)).exists():
        raise Refused(_TAKEN, field="name")
    wanted = [kind.value for kind in ReadingKind if kind in set(kinds)]
    if not wanted:
        raise Refused("Say what it reads: at least one.", field="kinds")
    if every_min is not None and not 1 <= every_min <= MOST_MINUTES:
        raise Refused(f"Give minutes from 1 to {MOST_MINUTES}, or leave it empty.", field="every_min")
    return {
        "name": called,
        "kinds": wanted,
        "every_min": every_min,
        "note": words(note, field="note", longest=300),
    }
