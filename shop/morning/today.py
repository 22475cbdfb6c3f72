"""The front page: what the verdict is, what speaks for it, what has come up since, and what the day wants."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.urls import reverse

from shop import clock, concern, topic
from shop.concern import Concern, Grade, StoredConcern
from shop.cutting.models import Booking, BookingSide
from shop.cutting.queries import Begun, begun, uncut_sides
from shop.log.queries import Unread, unread_of, unread_rows
from shop.morning.concerns import NO_CHECK, concerns_of_check, concerns_of_plan
from shop.morning.models import Check, Verdict
from shop.morning.plan import Plan, PlannedSide, Store, plan_of_day
from shop.morning.queries import FirstThings, Since, first_things, last_check, since
from shop.morning.verdict import MEANING, verdict_of
from shop.people.models import Person
from shop.recall import looking

#: How far ahead the front page looks.
DAYS_AHEAD = 7

#: So many unread notes stand on the front page.
UNREAD = 4

_WEIGHT = {Verdict.CLEAR: 0, Verdict.CARE: 1, Verdict.HOLD: 2}


@dataclass(frozen=True)
class Step:
    """One of the first things to do in an empty room, in their order."""

    words: str
    why: str
    link: str
    done: bool


@dataclass(frozen=True)
class PlannedBooking:
    """The sides of one booking in a plan."""

    code: str
    title: str
    link: str
    late_from: date | None
    sides: list[PlannedSide]


@dataclass(frozen=True)
class Coming:
    """A coming day's bookings, each with how many sides it still needs."""

    day: date
    bookings: list[tuple[Booking, int]]

    @property
    def sides(self) -> int:
        return sum(count for _, count in self.bookings)


@dataclass(frozen=True)
class Today:
    """All that the front page shows.

    check: today's, None before it. now_verdict: what the concerns of this moment come to. came: new or graver since
    the check; reasons: the others of care and hold; notes: the others; went: signed then, and gone. cut_since: sides
    planned at the check that wait no longer. begun: sides under way that are none of the day's. steps: what to do
    first, in a room that has not done each of it yet and has not put the list away; else empty. unread: notes in the
    log that are for whoever looks, and that they have not read.
    """

    day: date
    check: Check | None
    now_verdict: Verdict
    came: list[Concern]
    reasons: list[Concern]
    notes: list[Concern]
    went: list[StoredConcern]
    bookings: list[PlannedBooking]
    stores: list[Store]
    cut: str
    cut_since: int
    coming: list[Coming]
    begun: list[Begun]
    steps: list[Step]
    unread: list[Unread]

    @property
    def meaning(self) -> str:
        return MEANING[Verdict(self.check.verdict)] if self.check else ""

    @property
    def is_graver(self) -> bool:
        """Whether something has come up since that weighs more than the verdict signed."""
        return self.check is not None and _WEIGHT[self.now_verdict] > _WEIGHT[Verdict(self.check.verdict)]

    @property
    def is_lighter(self) -> bool:
        return self.check is not None and _WEIGHT[self.now_verdict] < _WEIGHT[Verdict(self.check.verdict)]

    @property
    def unread_first(self) -> list[Unread]:
        """As many of them as stand here: the others are in the log."""
        return self.unread[:UNREAD]

    @property
    def unread_more(self) -> int:
        return len(self.unread) - len(self.unread_first)

    @property
    def sides(self) -> int:
        return sum(len(booking.sides) for booking in self.bookings)


def todays_page(now: datetime, person: Person | None = None) -> Today:
    """Everything for the front page at `now`, for the day that is then in the zone now active, as `person` sees it.

    Reads that several apps need are made once; how many there are does not depend on the history.
    """
    notes = unread_rows(person) if person is not None and person.is_hand else []
    with looking(), topic.along(notes) as read_along:
        day = clock.day_of(now)
        last = last_check()
        check = last if last and last.day == day else None
        plan = plan_of_day(day, now)
        found = concern.gravest_first(
            [
                *concern.gather(now, leave_out=["morning"]),
                *concerns_of_check(check),
                *concerns_of_plan(plan),
            ]
        )
        held = since(check, found) if check else Since(came=[], stayed=found, went=[])
        reasons = [one for one in held.stayed if one.key != NO_CHECK]
        return Today(
            day=day,
            check=check,
            now_verdict=verdict_of(found),
            came=held.came,
            reasons=[one for one in reasons if one.grade > Grade.NOTE],
            notes=[one for one in reasons if one.grade <= Grade.NOTE],
            went=held.went,
            bookings=by_booking(plan["sides"]),
            stores=plan["stores"],
            cut=plan["cut"],
            cut_since=_cut_since(check, plan),
            coming=_coming(day),
            begun=[one for one in begun() if one.wanted not in {side["wanted"] for side in plan["sides"]}],
            steps=_steps(things) if (things := first_things(last)).are_wanted else [],
            unread=unread_of(read_along.rows(now)) if notes else [],
        )


def by_booking(sides: Iterable[PlannedSide]) -> list[PlannedBooking]:
    """Planned sides under their bookings, in the order they are to be cut."""
    found: list[PlannedBooking] = []
    for side in sides:
        if not found or found[-1].code != side["code"]:
            late = date.fromisoformat(side["late_from"]) if side["late_from"] else None
            found.append(PlannedBooking(side["code"], side["title"], side["link"], late, []))
        found[-1].sides.append(side)
    return found


def _cut_since(check: Check | None, plan: Plan) -> int:
    """How many of the sides planned at the check are no longer waiting."""
    if check is None:
        return 0
    waiting = {side["wanted"] for side in plan["sides"]}
    return sum(side["wanted"] not in waiting for side in check.plan.get("sides", []))


def _coming(day: date) -> list[Coming]:
    ahead = [side for side in uncut_sides() if day < side.booking.cut_on <= day + timedelta(days=DAYS_AHEAD)]
    days: dict[date, dict[int, list[BookingSide]]] = {}
    for side in ahead:
        days.setdefault(side.booking.cut_on, {}).setdefault(side.booking_id, []).append(side)
    return [
        Coming(on, [(sides[0].booking, len(sides)) for sides in bookings.values()]) for on, bookings in days.items()
    ]


def _steps(things: FirstThings) -> list[Step]:
    """What an empty room needs before its checks mean much."""
    return [
        Step(
            "Fit a stylus",
            "Name the lathe, the kind of stylus and the hours you expect of it; then enter the one in the head with "
            "the hours it has cut, and fit it.",
            reverse("cutting:styli"),
            things.was_fitted,
        ),
        Step(
            "Connect a cylinder",
            "Its stamped water volume and fill pressure tell how much nitrogen the gauge stands for.",
            reverse("room:cylinders"),
            things.was_connected,
        ),
        Step(
            "Receive blanks",
            "Enter what is on the shelf as deliveries, with the supplier's lot codes and dates.",
            f"{reverse('stock:expected')}#unordered",
            things.came_in,
        ),
        Step(
            "Add a booking",
            "The sides to be cut, so that blanks, stylus, gas and chip can be held against them.",
            reverse("cutting:add-booking"),
            things.was_booked,
        ),
    ]
