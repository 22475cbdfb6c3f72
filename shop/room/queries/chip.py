"""Chip: what is in the trap, what was emptied and is not stored yet, and the cans it is stored in."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Q, QuerySet, Sum

from shop import clock
from shop.duties import queries as duties
from shop.duties.models import Duty, Meter, Tick
from shop.duties.queries import MeterState
from shop.room.models import ChipCan, ChipStored

#: Key of the meter that counts chip.
CHIP = "chip"
#: A mass of chip may be off by so much of itself, either way: modulation, lead-in and lead-out are not reckoned with,
#: and nobody weighs chip (from memory; the same wherever a mass of chip stands). It does not average out.
OFF_BY = 0.5
#: A can this full of its limit is told of before it is full: our own choice.
NEARLY = 0.8
#: For so long that a can was handed over can be taken back: our own choice.
TAKEN_BACK_WITHIN = timedelta(days=1)


@dataclass(frozen=True)
class Grams:
    """A mass of chip in mg, reckoned dry, with the honest bounds of it."""

    mg: int

    @property
    def g(self) -> float:
        return self.mg / 1000

    @property
    def low(self) -> float:
        return self.g * (1 - OFF_BY)

    @property
    def high(self) -> float:
        return self.g * (1 + OFF_BY)

    @property
    def words(self) -> str:
        return f"{self.g:.1f}\u00a0g, from {self.low:.1f} to {self.high:.1f}"


@dataclass(frozen=True)
class CanState:
    """A can with what is stored in it. share: of its limit, None where it has none; days: it has stood here."""

    can: ChipCan
    holds: Grams
    days: int

    @property
    def share(self) -> float | None:
        return self.holds.g / self.can.limit_g if self.can.limit_g else None

    @property
    def is_full(self) -> bool:
        return self.share is not None and self.share >= 1

    @property
    def limit_words(self) -> str:
        return f"{self.can.limit_g}\u00a0g" if self.can.limit_g else ""

    @property
    def days_left(self) -> int | None:
        return None if self.can.limit_days is None else self.can.limit_days - self.days

    @property
    def days_over(self) -> int:
        return max(0, -(self.days_left or 0))


def can_states() -> list[CanState]:
    """The cans that are here, the one started last first: one query."""
    here = ChipCan.objects.filter(handed_at=None).select_related("started_by").annotate(mg=Sum("stored__mg"))
    today = clock.today()
    return [
        CanState(can, Grams(getattr(can, "mg", 0) or 0), (today - clock.day_of(can.started_at)).days) for can in here
    ]


def cans_here() -> QuerySet[ChipCan]:
    return ChipCan.objects.filter(handed_at=None)


def cans_gone() -> QuerySet[ChipCan]:
    """Those that were handed over, with what was in them."""
    gone = ChipCan.objects.filter(handed_at__isnull=False).select_related("handed_by")
    return gone.annotate(mg=Sum("stored__mg"))


def stored() -> QuerySet[ChipStored]:
    """Every entry of chip stored, those taken back too, last first."""
    return ChipStored.objects.select_related("can", "by", "undone_by", "undoes").order_by("-at", "-id")


@dataclass(frozen=True)
class ToStore:
    """What was emptied from the trap and is not down as stored: how much, how often, and when first."""

    holds: Grams
    times: int
    since: datetime | None


def to_store() -> ToStore:
    """Counted from the last entry of chip stored, or else from the start of the oldest can that is here: 3 queries."""
    last = (
        ChipStored.objects.filter(undoes=None, undone_by=None).order_by("-at", "-id").values_list("at", flat=True)[:1]
    )
    since = next(iter(last), None)
    if since is None:
        since = cans_here().order_by("started_at").values_list("started_at", flat=True).first()
    if since is None:
        return ToStore(Grams(0), 0, None)
    emptied = list(emptyings().filter(~Q(amount=0), at__gt=since).order_by("at").values_list("at", "amount"))
    return ToStore(Grams(-sum(amount for _, amount in emptied)), len(emptied), emptied[0][0] if emptied else None)


def emptyings() -> QuerySet[Tick]:
    """Each time the trap was emptied, as its meter tells, save what was taken back."""
    return Tick.objects.filter(meter__key=CHIP, is_reset=True, undone_by=None).select_related("by", "meter")


def trap() -> MeterState | None:
    """The trap's meter with its limits; None where the room has none."""
    return next((state for state in duties.states() if state.meter.key == CHIP), None)


def emptying_duty(meter: Meter) -> Duty | None:
    """The duty that empties the trap, if it is kept."""
    return Duty.objects.filter(meter=meter, resets_own_meter=True, is_active=True).order_by("id").first()
