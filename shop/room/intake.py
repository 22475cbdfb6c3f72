"""Taking in what an instrument read: each reading is kept once, was known already, or is refused with its reason.

Nobody stands beside an instrument to be asked, so what a person would be asked about is decided here: what cannot be,
and what was plainly sent in the wrong unit, is refused; what is unlikely and may be true (a cold room, a leak) is kept.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from django.db import transaction
from django.db.models import F, Q

from shop import bulk, clock
from shop.calc import units
from shop.people.models import Person
from shop.refusal import Doubt
from shop.room import hours
from shop.room.contents import GAS_C, MOST_BAR
from shop.room.gauge import READ_WITHIN_BAR, before_of, gauge_doubts
from shop.room.kinds import KINDS
from shop.room.models import Cylinder, Instrument, Reading, ReadingHour, ReadingKind, RefusedReading
from shop.room.queries.readings import NEAR, reading_before

#: How far a reading may lie ahead of this room's clock: what two good clocks differ by. Our own figure.
AHEAD = timedelta(seconds=10)
#: How far back an instrument may report; a clock that fell back to its maker's date lies further off. Our own figure.
BACK = timedelta(days=400)
#: After so many of its own intervals without a reading kept an instrument is missed. Our own figure.
MISSED_AFTER = 3
#: An unlikely reading is believed where one kept within this time before it was nearly as unlikely.
_NEAR_BEFORE = timedelta(hours=6)
#: A fall of the gauge up to this share of what it showed is not looked at any closer. Far less than a day's work takes.
_SMALL_FALL = 0.05
#: A database is asked about so many moments at once.
_AT_ONCE = 800

#: Why a reading is not kept, by the code an instrument is told.
REASONS = {
    "shape": "It is not written as a reading.",
    "kind": "It may not write that kind.",
    "time": "Its moment cannot be read.",
    "future": "It lies in the future.",
    "old": "It lies too far back.",
    "value": "Its value is no number.",
    "unit": "Its unit is another one, or seems to be.",
    "impossible": "Such a thing cannot read that.",
    "cylinder": "No cylinder was connected then.",
    "gauge": "That cylinder cannot show it.",
    "differs": "Another value is kept for that moment.",
}


@dataclass(frozen=True)
class Sent:
    """A reading as it was sent, once it could be read: the number in the unit it names (a key of calc.units)."""

    kind: ReadingKind
    at: datetime
    number: float
    unit: str


@dataclass(frozen=True)
class Wrong:
    """One that could not even be read. code: of REASONS; kind: "" where it named none of ours."""

    code: str
    reason: str
    kind: str = ""
    at: datetime | None = None


@dataclass(frozen=True)
class Outcome:
    """What became of one: "kept", "known" (it was kept before), or "refused", with code and reason."""

    what: Literal["kept", "known", "refused"]
    code: str = ""
    reason: str = ""


KEPT, KNOWN = Outcome("kept"), Outcome("known")


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
        row.value = _stored(one) if isinstance(one, Sent) else None
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
            outcomes[place] = _refused("differs", f"{_shown(one.kind, earlier)} is kept for that moment already.")
    rows = _plausible(held, fresh, outcomes, by=by, now=now)
    return [outcomes[place] for place in range(len(sent))], rows


def _refused(code: str, reason: str) -> Outcome:
    return Outcome("refused", code, reason)


def _first_look(one: Sent | Wrong, may: set[ReadingKind], now: datetime, back: timedelta | None) -> Outcome | float:
    """The value in the stored unit, or why it is refused whatever else is kept."""
    if isinstance(one, Wrong):
        return _refused(one.code, one.reason)
    about = KINDS[one.kind]
    if one.kind not in may:
        return _refused("kind", f"This instrument may not write {one.kind}.")
    if one.at > now + AHEAD:
        return _refused(
            "future",
            f"It lies in the future: this room's clock shows {now:%Y-%m-%dT%H:%M:%SZ}. Set the instrument's clock.",
        )
    if back is not None and one.at < now - back:
        return _refused("old", f"It lies more than {back.days} days back. Has the instrument's clock fallen back?")
    try:
        value = units.to_stored(about.quantity, one.number, one.unit)
    except ValueError as wrong:
        return _refused("unit" if one.unit not in units.UNITS[about.quantity] else "value", str(wrong))
    low, high = about.possible
    if not low <= value <= high:
        slip = _meant(about.quantity, one, lambda other: about.plausible[0] <= other <= about.plausible[1])
        edges = f"{_shown(one.kind, low)} and {_shown(one.kind, high)}"
        return _refused("impossible", f"{_shown(one.kind, value)} cannot be: it lies between {edges}.{slip}")
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
        look: _Gauges | _Likely = _Gauges(some, by) if kind == ReadingKind.NITROGEN_BAR else _Likely(held, kind)
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


class _Likely:
    """Whether a reading of air, suction or current is to be believed."""

    cylinder_id: int | None = None

    def __init__(self, held: Instrument, kind: ReadingKind) -> None:
        self.held, self.kind, self.about = held, kind, KINDS[kind]
        self.before: tuple[datetime, float] | None = None
        self.asked = False

    def at(self, one: Sent, value: float) -> Outcome:
        low, high = self.about.plausible
        slip = "" if low <= value <= high else _meant(self.about.quantity, one, lambda other: low <= other <= high)
        if slip and not self._was_like_that(one, value):
            return _refused("unit", f"{_shown(self.kind, value)} is not likely here.{slip}")
        self.before = (one.at, value)
        return KEPT

    def _was_like_that(self, one: Sent, value: float) -> bool:
        """Whether what was read shortly before comes near it: then it is the room, not the unit."""
        if self.before is None and not self.asked:
            self.asked = True
            earlier = reading_before(self.kind, one.at)
            self.before = (earlier.at, earlier.value) if earlier else None
        if self.before is None or one.at - self.before[0] > _NEAR_BEFORE:
            return False
        return self.about.jump is not None and abs(value - self.before[1]) <= self.about.jump


class _Gauges:
    """Whether a gauge reading can be of the cylinder that was connected then: judged by its gas, as for a person.

    Three queries whatever the batch: the cylinders, the thermometer's readings around, the gauge before.
    """

    def __init__(self, some: Sequence[tuple[int, Sent, float]], by: Person) -> None:
        self.by = by
        first, last = some[0][1].at, some[-1][1].at
        self.cylinder_id: int | None = None
        self.connected = list(
            Cylinder.objects.filter(connected_at__lte=last)
            .filter(Q(empty_at__isnull=True) | Q(empty_at__gt=first))
            .order_by("connected_at")
        )
        # by the hour, for a thermometer may have been read every minute
        warm = ReadingHour.objects.filter(
            kind=ReadingKind.ROOM_C, count__gt=0, hour__gte=first - NEAR, hour__lte=last + NEAR
        ).order_by("hour")
        self.warmths = [
            (hour + hours.HOUR / 2, total / count) for hour, total, count in warm.values_list("hour", "total", "count")
        ]
        self.moments = [at for at, _ in self.warmths]
        self.before: dict[int, tuple[Reading | None, float]] = {}

    def at(self, one: Sent, value: float) -> Outcome:
        cylinder = self._cylinder(one.at)
        if cylinder is None:
            return _refused("cylinder", "No cylinder was connected at that moment. Connect it in Latheside first.")
        self.cylinder_id = cylinder.pk
        if cylinder.pk not in self.before:
            earlier = reading_before(ReadingKind.NITROGEN_BAR, one.at, cylinder=cylinder)
            self.before[cylinder.pk] = (earlier, earlier.value if earlier else cylinder.fill_bar)
        earlier, bar = self.before[cylinder.pk]
        near = bar * (1 - _SMALL_FALL) <= value <= min(cylinder.service_bar, bar + READ_WITHIN_BAR)
        if trouble := "" if near else self._trouble(one, value, cylinder, earlier):
            return _refused("gauge", trouble)
        reading = Reading(kind=one.kind, value=value, at=one.at, cylinder_id=cylinder.pk)
        self.before[cylinder.pk] = (reading, value)
        return KEPT

    def _cylinder(self, at: datetime) -> Cylinder | None:
        for one in reversed(self.connected):
            if one.connected_at and one.connected_at <= at and not (one.empty_at and one.empty_at <= at):
                return one
        return None

    def _trouble(self, one: Sent, value: float, cylinder: Cylinder, earlier: Reading | None) -> str:
        """Why it is not believed; "" for one that fell much without the unit explaining it: that may be a leak."""
        warm = None if earlier is None else earlier.beside_c
        if earlier is not None and warm is None:
            warm = self._celsius(earlier.at)
        before = before_of(cylinder, earlier, warm)

        def doubts(bar: float) -> list[Doubt]:
            return gauge_doubts(
                cylinder=cylinder,
                gauge_bar=bar,
                celsius=self._celsius(one.at),
                at=one.at,
                before=before,
                reader=self.by,
                field="",
            )

        found = doubts(value)
        if not found:
            return ""
        if ":fell:" not in found[0].key:
            return found[0].sentence
        slip = _meant("pressure", one, lambda bar: 0 <= bar <= MOST_BAR and not doubts(bar))
        return slip and f"{_shown(one.kind, value)} is much less than before.{slip}"

    def _celsius(self, at: datetime) -> float | None:
        """The room's temperature last read before a moment, or first after it, within NEAR of it."""
        place = bisect_right(self.moments, at)
        close = [warm for warm in self.warmths[max(0, place - 1) : place + 1] if abs(warm[0] - at) <= NEAR]
        celsius = min(close, key=lambda warm: abs(warm[0] - at))[1] if close else None
        return celsius if celsius is not None and GAS_C[0] <= celsius <= GAS_C[1] else None


# Words ----------------------------------------------------------------------------------------------------------------


def _stored(one: Sent) -> float | None:
    try:
        return units.to_stored(KINDS[one.kind].quantity, one.number, one.unit)
    except ValueError:
        return None


def _shown(kind: ReadingKind, value: float) -> str:
    """A stored value in the stored unit, for an instrument has no preference."""
    quantity = KINDS[kind].quantity
    return units.show(quantity, value, units.default_unit(quantity))


def _meant(quantity: str, one: Sent, fits: Callable[[float], bool]) -> str:
    """ " Was 71 °F meant?", where the same number in another unit would do; else ""."""
    for other in units.UNITS[quantity]:
        if other == one.unit:
            continue
        try:
            value = units.to_stored(quantity, one.number, other)
        except ValueError:
            continue
        if fits(value):
            said = f"{one.number:.6g}\u00a0{units.label(quantity, other)}"
            return f" Was {said} meant? It was sent as {units.label(quantity, one.unit)}."
    return ""
