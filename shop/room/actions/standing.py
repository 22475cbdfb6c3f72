"""Standing tests: a gauge read twice while nothing runs, so that a leak shows."""

from collections.abc import Collection
from datetime import datetime, timedelta

from django.db import IntegrityError

from shop import clock
from shop.people.models import HANDS, Person
from shop.press.action import action
from shop.press.rules import happened_at, words
from shop.refusal import Refused
from shop.room import since
from shop.room.contents import GAS_C
from shop.room.models import Cylinder, Reading, ReadingKind, StandingTest
from shop.room.readings import Taking, ask_about, late, more_later, take
from shop.room.wording import said, when

#: Shorter than that no test is worth its name: our own judgement. How much a longer one finds stands with its result.
SHORTEST = timedelta(minutes=15)


@action(roles=HANDS)
def begin_standing_test(
    *,
    by: Person,
    cylinder: Cylinder,
    gauge_bar: float,
    celsius: float,
    at: datetime | None = None,
    sure: Collection[str] = (),
) -> StandingTest:
    """Read the gauge of the connected cylinder and the temperature beside it; from now on nothing may draw.

    Refused: for one that is not connected, while a test runs, for a temperature that no cylinder in a room has.
    """
    at = happened_at(at)
    cylinder = Cylinder.objects.select_for_update().get(pk=cylinder.pk)
    if cylinder.state != "connected":
        raise Refused(f"{cylinder.mark} is not connected: the line behind it cannot be tested with it.")
    if cylinder.connected_at is not None and at < cylinder.connected_at:
        raise Refused("It was not connected then. Give a later time.", field="at")
    if StandingTest.objects.filter(cylinder=cylinder, last=None, dropped_at=None).exists():
        raise Refused(f"A standing test of {cylinder.mark} is running already. End it or drop it first.")
    reading = _read(cylinder, gauge_bar, celsius, at, by, sure, "Standing test begun.")
    try:
        return StandingTest.objects.create(cylinder=cylinder, first=reading, first_c=celsius)
    except IntegrityError as raced:
        raise Refused(f"A standing test of {cylinder.mark} was begun just now. Look at its page again.") from raced


@action(roles=HANDS)
def end_standing_test(
    *,
    by: Person,
    test: StandingTest,
    gauge_bar: float,
    celsius: float,
    at: datetime | None = None,
    sure: Collection[str] = (),
) -> StandingTest:
    """Read the gauge and the temperature again, after a time in which nothing was drawn.

    Refused: for a test that is over, within SHORTEST of its beginning, where sides were cut since (then gas was drawn,
    and the test has to be dropped), and where the gauge showed more after that: no leak can be told from it.
    """
    at = happened_at(at)
    held = StandingTest.objects.select_for_update(of=("self",)).select_related("cylinder", "first").get(pk=test.pk)
    if not held.is_running:
        raise Refused("This test is over. Begin another one.")
    if at - held.first.at < SHORTEST:
        raise Refused(
            f"It began {when(held.first)}. Let at least {SHORTEST.seconds // 60} minutes go by; a night tells more.",
            field="at",
        )
    first = Reading.objects.annotate(sides_since=since.counted()).get(pk=held.first_id)
    if sides := since.sides_since(first):
        raise Refused(
            f"{sides} side{'' if sides == 1 else 's'} {'was' if sides == 1 else 'were'} cut since it began, so gas was "
            "drawn. Drop this test, and begin another when nothing runs."
        )
    if gauge_bar >= 0 and (more := more_later(held.cylinder, gauge_bar, celsius, at=at, by=by)):
        raise Refused(f"{more} Correct the wrong one first.", field="gauge_bar")
    reading = _read(held.cylinder, gauge_bar, celsius, at, by, sure, "Standing test ended.")
    StandingTest.objects.filter(pk=held.pk).update(last=reading, last_c=celsius)
    return StandingTest.objects.select_related("cylinder", "first", "last").get(pk=held.pk)


@action(roles=HANDS)
def drop_standing_test(*, by: Person, test: StandingTest, why: str) -> StandingTest:
    """Give up a test that runs: gas was drawn, or the gauge was moved. It says nothing then; its readings stay."""
    why = words(why, field="why", longest=300, needed=True)
    done = StandingTest.objects.filter(pk=test.pk, last=None, dropped_at=None).update(
        dropped_at=clock.now(), dropped_by=by, why=why
    )
    if not done:
        raise Refused("This test is over already.")
    return StandingTest.objects.select_related("cylinder").get(pk=test.pk)


def _read(
    cylinder: Cylinder, gauge_bar: float, celsius: float, at: datetime, by: Person, sure: Collection[str], note: str
) -> Reading:
    """Keep the gauge as a reading like any other, judged by the temperature beside it."""
    low, high = GAS_C
    if not low <= celsius <= high:
        raise Refused(
            f"A cylinder that stands in a room has between {said('temperature', low, by)} and "
            f"{said('temperature', high, by)}. Read the thermometer again.",
            field="celsius",
        )
    taking = Taking(ReadingKind.NITROGEN_BAR, gauge_bar, at, cylinder=cylinder, field="gauge_bar")
    if not gauge_bar >= 0:
        raise Refused("A gauge does not show less than nought. Read it again.", field="gauge_bar")
    ask_about([taking], by=by, sure=sure, celsius=celsius, also=late([taking.kind], at, cylinder))
    return take(
        kind=taking.kind,
        value=gauge_bar,
        at=at,
        by=by,
        cylinder=cylinder,
        beside_c=celsius,
        note=note,
        field="gauge_bar",
    )
