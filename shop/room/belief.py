"""Whether what an instrument sent is to be believed, beside what was read before it."""

from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta
from types import SimpleNamespace
from typing import cast

from django.db.models import Q

from shop.people.models import Units
from shop.refusal import Doubt
from shop.room import hours
from shop.room.contents import GAS_C, MOST_BAR
from shop.room.gauge import READ_WITHIN_BAR, before_of, gauge_doubts
from shop.room.kinds import KINDS
from shop.room.models import Cylinder, Instrument, Reading, ReadingHour, ReadingKind
from shop.room.queries.readings import NEAR, reading_before
from shop.room.sent import KEPT, Outcome, Sent, as_sent, meant, refused, shown

#: An unlikely reading is believed where one kept within this time before it was nearly as unlikely.
_NEAR_BEFORE = timedelta(hours=6)
#: A fall of the gauge up to this share of what it showed is not looked at any closer. Far less than a day's work takes.
_SMALL_FALL = 0.05
#: For so long a gauge must stand where it fell to before that is believed. Our own figure: a leak goes on.
STAYED = timedelta(minutes=10)
#: In these units an instrument is told why: it has no preference. Each page tells it its own reader's way.
_STORED = cast(Units, SimpleNamespace(pressure_unit="bar", temperature_unit="degC", liquid_unit="ml", length_unit="mm"))


class Likely:
    """Whether a reading of air, suction or current is to be believed."""

    cylinder_id: int | None = None

    def __init__(self, held: Instrument, kind: ReadingKind) -> None:
        self.held, self.kind, self.about = held, kind, KINDS[kind]
        self.before: tuple[datetime, float] | None = None
        self.asked = False

    def at(self, one: Sent, value: float) -> Outcome:
        low, high = self.about.plausible
        slip, other = "", value
        if not low <= value <= high:
            slip, other = meant(self.about.quantity, one, lambda number: low <= number <= high)
        if slip and not self._was_like_that(one, value, other):
            return refused("unit", f"{as_sent(one)} is not likely here.{slip}")
        self.before = (one.at, value)
        return KEPT

    def _was_like_that(self, one: Sent, value: float, other: float) -> bool:
        """Whether what was read shortly before comes near it, and nearer than to the other value that may have been
        meant: then it is the room, not the unit."""
        if self.before is None and not self.asked:
            self.asked = True
            earlier = reading_before(self.kind, one.at)
            self.before = (earlier.at, earlier.value) if earlier else None
        if self.before is None or one.at - self.before[0] > _NEAR_BEFORE:
            return False
        off = abs(value - self.before[1])
        return self.about.jump is not None and off <= self.about.jump and off < abs(other - self.before[1])


class Gauges:
    """Whether a gauge reading can be of the cylinder that was connected then: judged by its gas, as for a person.

    Four queries whatever the batch: the cylinders, the thermometer's readings around, the gauge before, and the fall
    that was not believed yet.
    """

    def __init__(self, held: Instrument, some: Sequence[tuple[int, Sent, float]]) -> None:
        fell = held.refusals.filter(kind=ReadingKind.NITROGEN_BAR, code="fell").first()
        #: since when the gauge stands where it fell to, and what it showed last
        self.fallen = (fell.since, fell.value) if fell and fell.since and fell.value is not None else None
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
            return refused("cylinder", "No cylinder was connected at that moment. Connect it in Latheside first.")
        self.cylinder_id = cylinder.pk
        if cylinder.pk not in self.before:
            earlier = reading_before(ReadingKind.NITROGEN_BAR, one.at, cylinder=cylinder)
            self.before[cylinder.pk] = (earlier, earlier.value if earlier else cylinder.fill_bar)
        earlier, bar = self.before[cylinder.pk]
        near = bar * (1 - _SMALL_FALL) <= value <= min(cylinder.service_bar, bar + READ_WITHIN_BAR)
        if not near and (trouble := self._trouble(one, value, cylinder, earlier, bar)):
            return trouble
        reading = Reading(kind=one.kind, value=value, at=one.at, cylinder_id=cylinder.pk)
        self.before[cylinder.pk] = (reading, value)
        return KEPT

    def _cylinder(self, at: datetime) -> Cylinder | None:
        for one in reversed(self.connected):
            if one.connected_at and one.connected_at <= at and not (one.empty_at and one.empty_at <= at):
                return one
        return None

    def _trouble(
        self, one: Sent, value: float, cylinder: Cylinder, earlier: Reading | None, bar: float
    ) -> Outcome | None:
        """Why it is not believed; None if it is. bar: what the gauge showed before."""
        before = before_of(cylinder, earlier, self._celsius(earlier.at) if earlier else None)

        def doubts(bar: float) -> list[Doubt]:
            return gauge_doubts(
                cylinder=cylinder,
                gauge_bar=bar,
                celsius=self._celsius(one.at),
                at=one.at,
                before=before,
                reader=_STORED,
                field="",
            )

        found = doubts(value)
        if not found:
            return None
        if ":fell:" not in found[0].key:
            return refused("gauge", found[0].sentence)
        slip, _ = meant("pressure", one, lambda bar: 0 <= bar <= MOST_BAR and not doubts(bar))
        if slip:
            return refused("gauge", f"{as_sent(one)} is much less than before.{slip}")
        since = self._stands_since(one, value, earlier)
        if one.at - since >= STAYED:
            return None
        return Outcome(
            "refused",
            "fell",
            f"{as_sent(one)} is much less than the {shown(one.kind, bar)} before, and no use explains it. It is "
            f"believed once the gauge has stood there for {STAYED.seconds // 60} minutes. Look at the gauge; if it is "
            "right, look for a leak.",
            since,
        )

    def _stands_since(self, one: Sent, value: float, earlier: Reading | None) -> datetime:
        """From when on the gauge has stood as low as this; since this reading, where it was higher in between."""
        since, last = self.fallen or (one.at, value)
        stands = since <= one.at and (earlier is None or since > earlier.at) and value <= last + READ_WITHIN_BAR
        self.fallen = (since if stands else one.at, value)
        return self.fallen[0]

    def _celsius(self, at: datetime) -> float | None:
        """The room's temperature last read before a moment, or first after it, within NEAR of it."""
        place = bisect_right(self.moments, at)
        close = [warm for warm in self.warmths[max(0, place - 1) : place + 1] if abs(warm[0] - at) <= NEAR]
        celsius = min(close, key=lambda warm: abs(warm[0] - at))[1] if close else None
        return celsius if celsius is not None and GAS_C[0] <= celsius <= GAS_C[1] else None
