"""That nitrogen went which nothing explains: it may have gone into the room's air."""

from collections.abc import Iterator
from datetime import datetime

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.people.fields import measured
from shop.people.queries import the_room
from shop.room.queries.losses import Losses, connected, loss_rows, losses_told
from shop.room.wording import kg_words, moment_words, said, sides_words
from shop.topic import Row, Topic


def _worries(rows: list[Row], now: datetime) -> Iterator[Concern]:
    told = losses_told(rows, now)
    if told is not None and told.open:
        yield _went(told)


def _went(told: Losses) -> Concern:
    """One concern for all that is open; its key is that of the day of the latest, so that another one is told anew."""
    room, lost = the_room(), told.open
    first, last = lost[0].first, lost[-1].last
    gone, used, sides = (sum(getattr(each, name) for each in lost) for name in ("gone_kg", "used_kg", "sides"))
    explained = f"use explains {kg_words(1000 * used)}" if used >= 0.005 else "and no use explains it"
    times = f" in {len(lost)} stretches" if len(lost) > 1 else ""
    return Concern(
        key=f"room:gas:gone:{told.cylinder}:{clock.day_of(last.at):%Y%m%d}",
        grade=Grade.CARE,
        subject="Nitrogen",
        headline=f"{kg_words(1000 * gone)} of nitrogen went, {explained}",
        reason=(
            f"The gauge of cylinder {told.mark} went from {said('pressure', first.bar, room)} "
            f"{moment_words(first.at)} to {said('pressure', last.bar, room)} {moment_words(last.at)}{times}, and "
            f"{sides_words(sides, 1000 * used, 'in between')}. Nitrogen displaces the air of a room, without "
            "any warning."
        ),
        what_to_do=(
            "Air the room before anyone stays in it, and shut the cylinder valve. Look for the leak as the supplier "
            "and whoever fitted the line advise, and do a standing test. If it was used, an engineer writes down what "
            "for."
        ),
        link=reverse("room:cylinder", args=[told.cylinder]) + "#gone",
        quantities=tuple(measured("pressure", end.bar, room) for end in (first, last)),
    )


TOPIC = Topic(rows=lambda: loss_rows(connected), worries=_worries)
