"""What the morning worries about: no check yet, answers of today's check, and what the day's bookings will use up."""

from collections.abc import Iterator
from datetime import datetime

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade, restored
from shop.morning.answers import OWN_KEYS
from shop.morning.models import Check
from shop.morning.plan import Plan, plan_of_day
from shop.morning.queries import standing_check
from shop.recall import looking

#: The key of the worry that today's check was not made yet.
NO_CHECK = "morning:no-check"


def concerns(now: datetime) -> list[Concern]:
    """All of them at `now`, for the day that is then in the zone now active."""
    day = clock.day_of(now)
    with looking():  # the plan looks at what is in the heads, at what speaks against it, and at the shop's limits
        return [*concerns_of_check(standing_check(day)), *concerns_of_plan(plan_of_day(day, now))]


def concerns_of_check(check: Check | None) -> list[Concern]:
    """What today's check leaves open, as it was signed; or that there is none yet."""
    if check is not None:
        return [restored(stored) for stored in check.concerns if stored["key"].startswith(OWN_KEYS)]
    return [
        Concern(
            key=NO_CHECK,
            grade=Grade.CARE,
            subject="Morning check",
            headline="No check yet today",
            reason="Nobody has gone through the room's list since midnight.",
            what_to_do="Do the morning check.",
            link=reverse("morning:make-check"),
        )
    ]


def concerns_of_plan(plan: Plan) -> Iterator[Concern]:
    """Gas or chip trap that will not last through the day's sides. Blanks, styli and lengths are for cutting to say."""
    many = len(plan["sides"])
    if (lasts_for := plan["gas_lasts_for"]) is not None and plan["sides"][0]["gas"]["share"] is not None:
        spare = plan["has_spare"]
        yield Concern(
            key="morning:gas",
            grade=Grade.HOLD if lasts_for == 0 and not spare else Grade.CARE,
            subject="Nitrogen",
            headline=f"The gas lasts for {_of_sides(lasts_for, many)} booked today",
            reason="Reckoned from the gauge, the sides cut since, the room's temperature and the shop's own grams a "
            "side, above its reserve."
            + (" A full cylinder stands ready." if spare else " No full cylinder stands ready."),
            what_to_do="Have the full cylinder at hand and change between sides, not during one."
            if spare
            else "Get a full cylinder, or move sides to another day.",
            link=reverse("room:cylinders"),
        )
    if (full_at := plan["chip_full_at"]) is not None:
        yield Concern(
            key="morning:chip",
            grade=Grade.CARE,
            subject="Chip trap",
            headline=f"The chip trap is full after {_of_sides(full_at + 1, many)} booked today",
            reason="Reckoned from what the meter counts and the chip of the sides booked, give or take half.",
            what_to_do="Empty it before that side, with the chip wet, as the room's own rules say.",
            link=reverse("duties:meters"),
        )


def _of_sides(some: int, many: int) -> str:
    if some == 0:
        return f"none of the {many} sides" if many > 1 else "less than the one side"
    return f"{some} of the {many} sides" if many > 1 else "the one side"
