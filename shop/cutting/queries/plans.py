"""What a day of cutting asks for: time, blanks with the rejects that are to be expected, and the order of its steps."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import ClassVar

from django.db.models import Count, Q

from shop import clock
from shop.calc.blanks import (
    ENOUGH_SIDES,
    GUESS_WORTH,
    RejectShare,
    blanks_to_have,
    chance_of_all_good,
    known_share,
    most_blanks,
)
from shop.calc.layout import Layout
from shop.cutting import plans
from shop.cutting.models import BookingSide, HeadStep, Outcome, PlanFigures, Side
from shop.cutting.queries.bookings import NeededSide, needs_of, uncut_sides
from shop.stock.models import Lot
from shop.stock.queries import lots_on_shelf

#: Rejects of older sides say nothing of today's: as long as lots are one another's fellows in stock.
_BACK = timedelta(days=730)


def head_steps() -> list[HeadStep]:
    """The steps before the head goes down, in order."""
    return list(HeadStep.objects.filter(is_active=True))


@dataclass(frozen=True)
class BlanksNeeded:
    """How many blanks of one size so many sides ask for.

    lot: the one to take first, None if none may be used; rejects, cut: of its sides; fellows_rejects, fellows_cut: of
    the other lots of its item. usable: blanks there are that may be used that day. guess: the share that the room
    itself expects to reject, None where it has not said.

    Three things can be told: a number; nothing, as too little is known of this room's rejects (share is None); or that
    so many are rejected that no sensible number will do (is_hopeless).
    """

    enough_sides: ClassVar[int] = ENOUGH_SIDES
    guess_worth: ClassVar[float] = GUESS_WORTH

    blank_in: int
    sides: int
    usable: int
    lot: Lot | None
    rejects: int
    cut: int
    fellows_rejects: int
    fellows_cut: int
    confidence: float
    guess: float | None = None

    @cached_property
    def share(self) -> RejectShare | None:
        """None where too little is known of it (`shop.calc.blanks.known_share`)."""
        return known_share(
            self.rejects,
            self.cut,
            fellows_rejects=self.fellows_rejects,
            fellows_cut=self.fellows_cut,
            guess=self.guess,
        )

    @cached_property
    def needed(self) -> int | None:
        """None where no number can be told."""
        return None if self.share is None else blanks_to_have(self.sides, self.share, self.confidence)

    @property
    def is_hopeless(self) -> bool:
        return self.share is not None and self.needed is None

    @property
    def most(self) -> int:
        """The most that are told as a number."""
        return most_blanks(self.sides)

    @property
    def counted(self) -> int:
        """The room's own sides on blanks of that kind."""
        return self.cut + self.fellows_cut

    @property
    def counted_rejects(self) -> int:
        return self.rejects + self.fellows_rejects

    @property
    def at_least(self) -> int:
        """What is needed; where that cannot be told, one for each side."""
        return self.needed or self.sides

    @property
    def spare(self) -> int:
        """Of those, how many are for rejects."""
        return self.at_least - self.sides

    @property
    def missing(self) -> int:
        return max(0, self.at_least - self.usable)

    @property
    def chance(self) -> float | None:
        """The chance that what may be used is enough; None where too little is known."""
        return None if self.share is None else chance_of_all_good(self.sides, self.usable, self.share)


def blanks_for(sides: Iterable[BookingSide], day: date, kept: PlanFigures) -> list[BlanksNeeded]:
    """What these sides ask for on `day`, by size, the largest first: two queries."""
    wanted: dict[int, int] = {}
    for side in sides:
        wanted[side.blank_in] = wanted.get(side.blank_in, 0) + 1
    if not wanted:
        return []
    usable = [
        lot
        for lot in lots_on_shelf()
        if lot.item.blank_in in wanted and not lot.is_held and not lot.is_past_date(day) and lot.on_hand
    ]
    counted = _rejects({lot.item_id for lot in usable})
    found = []
    for size in sorted(wanted, reverse=True):
        lots = [lot for lot in usable if lot.item.blank_in == size]
        first = lots[0] if lots else None
        own = counted.get((first.item_id, first.pk), (0, 0)) if first else (0, 0)
        fellows = [rows for (item, lot), rows in counted.items() if first and item == first.item_id and lot != first.pk]
        found.append(
            BlanksNeeded(
                blank_in=size,
                sides=wanted[size],
                usable=sum(lot.on_hand for lot in lots),
                lot=first,
                rejects=own[0],
                cut=own[1],
                fellows_rejects=sum(rejects for rejects, _ in fellows),
                fellows_cut=sum(cut for _, cut in fellows),
                confidence=kept.confidence,
                guess=kept.rejects_guess,
            )
        )
    return found


def _rejects(items: set[int]) -> dict[tuple[int, int], tuple[int, int]]:
    """Of each lot of these items: sides rejected, and good or rejected, by (item, lot). One query."""
    rows = (
        Side.objects.filter(
            lot__item__in=items,
            withdrawal__isnull=True,
            outcome__in=(Outcome.GOOD, Outcome.REJECTED),
            at__gte=clock.now() - _BACK,
        )
        .order_by()
        .values("lot__item", "lot")
        .annotate(cut=Count("pk"), rejects=Count("pk", filter=Q(outcome=Outcome.REJECTED)))
    )
    return {(row["lot__item"], row["lot"]): (row["rejects"], row["cut"]) for row in rows}


@dataclass(frozen=True)
class PlannedSide:
    """A side of a day: what it needs, and how it lies on its disc."""

    needed: NeededSide
    layout: Layout

    @property
    def wanted(self) -> BookingSide:
        return self.needed.wanted


@dataclass(frozen=True)
class DayPlan:
    """A day's sides, in the order they are to be cut."""

    day: date
    sides: list[PlannedSide]
    blanks: list[BlanksNeeded]
    kept: PlanFigures

    @property
    def cut_s(self) -> float:
        """Under the stylus, if every side comes good at once: from lead-in to finishing groove."""
        return sum(side.layout.seconds for side in self.sides)

    @property
    def whole_s(self) -> float:
        """The same with the time between sides."""
        return self.cut_s + self.kept.between_s * max(0, len(self.sides) - 1)

    @property
    def with_rejects_s(self) -> float:
        """With as many sides cut again as blanks are reckoned with, each as long as the mean one."""
        again = sum(one.spare for one in self.blanks)
        mean = self.cut_s / len(self.sides) if self.sides else 0.0
        return self.whole_s + again * (mean + self.kept.between_s)

    @property
    def not_fitting(self) -> int:
        return sum(1 for side in self.sides if not side.needed.plan.fits)


def day_plan(day: date, today: date) -> DayPlan:
    """What is to be cut on `day`; today's with what earlier days left over."""
    sides = [
        side for side in uncut_sides() if side.booking.cut_on == day or (day == today and side.booking.cut_on < today)
    ]
    kept = plans.figures()
    needed = needs_of(sides, day).sides
    return DayPlan(
        day=day,
        sides=[PlannedSide(one, plans.layout_of(one.wanted)) for one in needed],
        blanks=blanks_for(sides, day, kept),
        kept=kept,
    )


def planned_days(today: date) -> list[tuple[date, int]]:
    """The days that have sides to cut, from today on, with how many; leftovers are today's."""
    counted: dict[date, int] = {}
    for side in uncut_sides():
        day = max(side.booking.cut_on, today)
        counted[day] = counted.get(day, 0) + 1
    return sorted(counted.items())
