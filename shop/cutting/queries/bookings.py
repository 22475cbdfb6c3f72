"""Reading bookings and what they still need."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from django.db.models import Count, Exists, IntegerField, OuterRef, Q, QuerySet

from shop.alongside import one_row
from shop.calc.groove import SidePlan
from shop.calc.layout import Layout
from shop.cutting import plans
from shop.cutting.models import Booking, BookingSide, Outcome, PlanFigures, RunningSide, Side
from shop.cutting.plans import Estimate
from shop.cutting.queries.begun import begun, open_runs
from shop.cutting.queries.sides import is_good
from shop.prepared import Given, prepared
from shop.recall import recalled
from shop.stock.claims import Claim


def good_cut() -> Exists:
    """Whether a booked side has a good cut that was neither withdrawn nor refused by the platers."""
    return Exists(Side.objects.filter(is_good(), wanted=OuterRef("pk")))


@recalled
def uncut_sides() -> tuple[BookingSide, ...]:
    """Every side that an open booking still needs, by day, booking and label; with the room's figures. One query."""
    return tuple(_uncut_sides())


@prepared
def _uncut_sides() -> QuerySet[BookingSide]:
    return (
        BookingSide.objects.filter(~good_cut(), booking__finished_at__isnull=True, booking__cancelled_at__isnull=True)
        .annotate(figures=one_row(PlanFigures))
        .select_related("booking")
        .order_by("booking__cut_on", "booking__code", "label", "id")
    )


def uncut(day: date) -> list[BookingSide]:
    """The sides of open bookings for that day or an earlier one that have no good cut: one query."""
    return [side for side in uncut_sides() if side.booking.cut_on <= day]


def sides_by_day(today: date) -> dict[date, int]:
    """How many sides open bookings still need, by day; what is left over from earlier days counts for today."""
    return dict(Counter(max(today, side.booking.cut_on) for side in uncut_sides()))


def uncut_of(booking: Booking) -> list[BookingSide]:
    """The booking's own sides without a good cut, whatever its state."""
    sides = _uncut_of(booking=booking.pk)
    for side in sides:
        side.booking = booking
    return sides


@prepared
def _uncut_of() -> QuerySet[BookingSide]:
    return BookingSide.objects.filter(~good_cut(), booking=Given("booking", IntegerField())).order_by("label", "id")


# What a day needs -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class NeededSide:
    """A side still to be cut, with its plan and what it will take."""

    wanted: BookingSide
    plan: SidePlan
    estimate: Estimate


@dataclass(frozen=True)
class DayNeeds:
    """What the uncut sides of a day take together. blanks: by size in inches; cut_s: under the stylus; chip_mg."""

    day: date
    sides: list[NeededSide] = field(default_factory=list)

    @cached_property
    def blanks(self) -> dict[int, int]:
        return dict(sorted(Counter(side.wanted.blank_in for side in self.sides).items(), reverse=True))

    @property
    def cut_s(self) -> int:
        return sum(side.estimate.cut_s for side in self.sides)

    @property
    def chip_mg(self) -> int:
        return sum(side.estimate.chip_mg for side in self.sides)

    @property
    def left_over(self) -> int:
        """How many of them are from earlier days."""
        return sum(1 for side in self.sides if side.wanted.booking.cut_on < self.day)

    @property
    def not_fitting(self) -> list[NeededSide]:
        return [side for side in self.sides if not side.plan.fits]


def needs_of(sides: Iterable[BookingSide], day: date) -> DayNeeds:
    """Plans and sums of the given sides; no query."""
    return DayNeeds(day, [NeededSide(side, plans.plan_of(side), plans.estimate(side)) for side in sides])


def day_needs(day: date) -> DayNeeds:
    """What is still to be cut on that day, earlier days' leftovers included: one query."""
    return needs_of(uncut(day), day)


def claims(day: date) -> list[Claim]:
    """For stock: a blank for each uncut side of each open booking, a claim for each booking and size; and one for each
    side under way that none of them is. Two queries."""
    counted: Counter[tuple[int, int]] = Counter()
    bookings: dict[int, Booking] = {}
    for side in uncut_sides():
        counted[side.booking_id, side.blank_in] += 1
        bookings[side.booking_id] = side.booking
    claimed = [
        Claim(
            blank_in=size,
            quantity=quantity,
            day=bookings[pk].cut_on,
            label=f"booking {bookings[pk].code}",
            link=bookings[pk].get_absolute_url(),
        )
        for (pk, size), quantity in counted.items()
    ]
    booked = {side.pk for side in uncut_sides()}
    return claimed + [
        Claim(blank_in=one.blank_in, quantity=1, day=day, label=f"a side under way on {one.lathe}", link=one.link)
        for one in begun()
        if one.wanted not in booked
    ]


# Pages ----------------------------------------------------------------------------------------------------------------


def bookings(state: str = "open") -> QuerySet[Booking]:
    """Bookings with `sides` and `cut`, how many they need and have; the open by day, the others latest first.

    state: "open", "finished", "cancelled" or "all".
    """
    found = Booking.objects.annotate(
        sides=Count("wanted", distinct=True),
        cut=Count(
            "wanted",
            filter=is_good("wanted__cuts__"),
            distinct=True,
        ),
    )
    is_open = Q(finished_at__isnull=True, cancelled_at__isnull=True)
    if state == "open":
        return found.filter(is_open).order_by("cut_on", "code")
    if state == "finished":
        found = found.filter(finished_at__isnull=False)
    elif state == "cancelled":
        found = found.filter(cancelled_at__isnull=False)
    return found.order_by("-cut_on", "-code")


@dataclass(frozen=True)
class SideState:
    """A booked side on the booking's page: its plan, its cuts in order, the good one if there is one, and what is under
    way of it."""

    wanted: BookingSide
    plan: SidePlan
    estimate: Estimate
    cuts: list[Side]
    runs: list[RunningSide]

    @cached_property
    def layout(self) -> Layout:
        return plans.layout_of(self.wanted)

    @property
    def good(self) -> Side | None:
        return next((cut for cut in self.cuts if cut.outcome == Outcome.GOOD and _stands(cut)), None)


def is_withdrawn(side: Side) -> bool:
    """Whether the side was withdrawn; no query if `withdrawal` was selected with it."""
    return hasattr(side, "withdrawal")


def _stands(cut: Side) -> bool:
    """Whether a cut was neither withdrawn nor refused by the platers; both selected with it."""
    return not is_withdrawn(cut) and not (hasattr(cut, "master") and cut.master.is_refused)


def side_states(booking: Booking) -> list[SideState]:
    """Every side of a booking as its page shows it: three queries."""
    cuts: dict[int, list[Side]] = {}
    for cut in (
        Side.objects.filter(wanted__booking=booking)
        .select_related("withdrawal", "master", "reject_reason", "life__stylus", "lot", "by")
        .order_by("at", "id")
    ):
        assert cut.wanted_id is not None
        cuts.setdefault(cut.wanted_id, []).append(cut)
    runs = list(open_runs().filter(wanted__booking=booking))
    return [
        SideState(
            wanted,
            plans.plan_of(wanted),
            plans.estimate(wanted),
            cuts.get(wanted.pk, []),
            [run for run in runs if run.wanted_id == wanted.pk],
        )
        for wanted in booking.wanted.annotate(figures=one_row(PlanFigures)).order_by("label", "id")
    ]


def next_code() -> str:
    """A code to start a new booking's form with: the last one with its number gone up by one."""
    last = Booking.objects.order_by("-pk").values_list("code", flat=True).first() or "B-0000"
    digits = last[len(last.rstrip("0123456789")) :]
    if not digits:
        return ""
    stem = last[: len(last) - len(digits)]
    return f"{stem}{int(digits) + 1:0{len(digits)}}"[:30]


__all__ = [
    "DayNeeds",
    "NeededSide",
    "SideState",
    "bookings",
    "claims",
    "day_needs",
    "good_cut",
    "is_withdrawn",
    "needs_of",
    "next_code",
    "side_states",
    "uncut",
    "uncut_of",
    "uncut_sides",
]
