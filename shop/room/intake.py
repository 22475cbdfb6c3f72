"""Taking in what an instrument read: each reading is kept once, was known already, or is refused with its reason.

Nobody stands beside an instrument to be asked, so what a person would be asked about is decided here: what cannot be,
and what was plainly sent in the wrong unit, is refused; what is unlikely and may be true (a cold room) is kept. A gauge
that falls further than use explains is believed once it has stayed there: one reading of nought would else refuse all
the true ones after it, which would seem to have risen by themselves.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F

from shop import bulk, clock
from shop.calc import units
from shop.people.models import Person
from shop.room import hours
from shop.room.belief import Gauges, Likely
from shop.room.kinds import KINDS
from shop.room.models import Instrument, Reading, ReadingKind, RefusedReading
from shop.room.sent import KEPT, KNOWN, Outcome, Sent, Wrong, as_sent, meant, refused, shown, stored

#: How far a reading may lie ahead of this room's clock: what two good clocks differ by. Our own figure.
AHEAD = timedelta(seconds=10)
#: How far back an instrument may report; a clock that fell back to its maker's date lies further off. Our own figure.
BACK = timedelta(days=400)
#: After so many of its own intervals without a reading kept an instrument is missed. Our own figure.
MISSED_AFTER = 3
#: A database is asked about so many moments at once.
_AT_ONCE = 800


class Revoked(Exception):
    """The instrument was taken off in between."""


def take_in(
    instrument: Instrument,
    sent: Sequence[Sent | Wrong],
    *,
    by: Person | None = None,
    back: timedelta | None = BACK,
    write: bool = True,
) -> list[Outcome]:
    """Keep what can be kept of a batch, in one transaction; what became of each, in their order.

    The instrument's row is locked first, so that the same batch sent by several at once is kept once. by: who brought
    a file of it; whoever added the instrument answers for what it sends itself. back: how far back readings may lie,
    None for any. write: False to see only what would come of it. Raises Revoked.
    """
    now = clock.now()
    with transaction.atomic():
        held = Instrument.objects.select_for_update(of=("self",)).select_related("added_by").get(pk=instrument.pk)
        if held.revoked_at is not None:
            raise Revoked
        outcomes, taken = _judge(held, sent, by=by or held.added_by, now=now, back=back)
        if write:
            bulk.insert(taken)
            hours.count_in(taken)
            _note_refusals(held, sent, outcomes, now)
            _note_heard(held, len(taken), now)
    return outcomes


def missed_from(every_min: int | None, since: datetime) -> datetime | None:
    """From when on an instrument is missed that was last heard at `since`; None where it reports at no set times."""
    return None if every_min is None else since + MISSED_AFTER * timedelta(minutes=every_min)


def _note_heard(held: Instrument, kept: int, now: datetime) -> None:
    mine = Instrument.objects.filter(pk=held.pk)
    if kept:
        mine.update(heard_at=now, kept_at=now, missed_at=missed_from(held.every_min, now), kept=F("kept") + kept)
    else:
        mine.update(heard_at=now)


def _note_refusals(held: Instrument, sent: Sequence[Sent | Wrong], outcomes: Sequence[Outcome], now: datetime) -> None:
    """One row for each kind and cause, however many there are: what goes wrong goes wrong every minute."""
    last: dict[tuple[str, str], RefusedReading] = {}
    for one, outcome in zip(sent, outcomes, strict=True):
        if outcome.what != "refused":
            continue
        key = (str(one.kind), outcome.code)
        row = last.setdefault(key, RefusedReading(instrument=held, kind=key[0], code=key[1]))
        row.count += 1
        row.reason, row.at, row.last_at = outcome.reason[:400], one.at, now
        row.value, row.since = stored(one) if isinstance(one, Sent) else None, outcome.since
    known = {(row.kind, row.code): row for row in held.refusals.all()} if last else {}
    for key, row in last.items():
        if earlier := known.get(key):
            row.pk, row.count = earlier.pk, row.count + earlier.count
        row.save()


# Judging --------------------------------------------------------------------------------------------------------------


def _judge(
    held: Instrument, sent: Sequence[Sent | Wrong], *, by: Person, now: datetime, back: timedelta | None
) -> tuple[list[Outcome], list[Reading]]:
    """What becomes of each, and the rows of those that are kept."""
    outcomes: dict[int, Outcome] = {}
    fit: list[tuple[int, Sent, float]] = []
    may = set(held.reads)
    for place, one in enumerate(sent):
        found = _first_look(one, may, now, back)
        if isinstance(found, Outcome):
            outcomes[place] = found
        else:
            assert isinstance(one, Sent)
            fit.append((place, one, found))
    kept_before = _kept_before(held, [one for _, one, _ in fit])
    fresh: list[tuple[int, Sent, float]] = []
    for place, one, value in fit:
        earlier = kept_before.get((one.kind, one.at))
        if earlier is None:
            kept_before[one.kind, one.at] = value
            fresh.append((place, one, value))
        elif abs(earlier - value) <= 1e-9 * max(1.0, abs(value)):
            outcomes[place] = KNOWN
        else:
            outcomes[place] = refused("differs", f"{shown(one.kind, earlier)} is kept for that moment already.")
    rows = _plausible(held, fresh, outcomes, by=by, now=now)
    return [outcomes[place] for place in range(len(sent))], rows


def _first_look(one: Sent | Wrong, may: set[ReadingKind], now: datetime, back: timedelta | None) -> Outcome | float:
    """The value in the stored unit, or why it is refused whatever else is kept."""
    if isinstance(one, Wrong):
        return refused(one.code, one.reason)
    about = KINDS[one.kind]
    if one.kind not in may:
        return refused("kind", f"This instrument may not write {one.kind}.")
    if one.at > now + AHEAD:
        return refused(
            "future",
            f"It lies in the future: this room's clock shows {now:%Y-%m-%dT%H:%M:%SZ}. Set the instrument's clock.",
        )
    if back is not None and one.at < now - back:
        return refused("old", f"It lies more than {back.days} days back. Has the instrument's clock fallen back?")
    try:
        value = units.to_stored(about.quantity, one.number, one.unit)
    except ValueError as wrong:
        return refused("unit" if one.unit not in units.UNITS[about.quantity] else "value", str(wrong))
    low, high = about.possible
    if not low <= value <= high:
        slip, _ = meant(about.quantity, one, lambda other: about.plausible[0] <= other <= about.plausible[1])
        edges = f"{shown(one.kind, low)} and {shown(one.kind, high)}"
        return refused("impossible", f"{as_sent(one)} cannot be: it lies between {edges}.{slip}")
    return value


def _kept_before(held: Instrument, fit: Sequence[Sent]) -> dict[tuple[ReadingKind, datetime], float]:
    """What is kept of this instrument for the moments of a batch."""
    moments = sorted({one.at for one in fit})
    found: dict[tuple[ReadingKind, datetime], float] = {}
    for start in range(0, len(moments), _AT_ONCE):
        rows = Reading.objects.filter(instrument=held, at__in=moments[start : start + _AT_ONCE])
        found |= {(ReadingKind(kind), at): value for kind, at, value in rows.values_list("kind", "at", "value")}
    return found


def _plausible(
    held: Instrument,
    fresh: Sequence[tuple[int, Sent, float]],
    outcomes: dict[int, Outcome],
    *,
    by: Person,
    now: datetime,
) -> list[Reading]:
    """The rows of what is kept; what is not is written into `outcomes`. In order of time, for each is held against the
    one before it."""
    rows: list[Reading] = []
    by_kind: dict[ReadingKind, list[tuple[int, Sent, float]]] = defaultdict(list)
    for item in fresh:
        by_kind[item[1].kind].append(item)
    for kind, some in by_kind.items():
        some.sort(key=lambda item: item[1].at)
        look: Gauges | Likely = Gauges(held, some) if kind == ReadingKind.NITROGEN_BAR else Likely(held, kind)
        for place, one, value in some:
            outcome = look.at(one, value)
            outcomes[place] = outcome
            if outcome is KEPT:
                rows.append(
                    Reading(
                        kind=kind,
                        value=value,
                        at=one.at,
                        recorded_at=now,
                        by=by,
                        instrument=held,
                        cylinder_id=look.cylinder_id,
                    )
                )
    return rows
