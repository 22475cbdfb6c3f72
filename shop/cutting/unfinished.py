"""What cutting worries about among sides that were started: left running, or of which nobody has said what became."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from shop import clock
from shop.concern import Concern, Grade
from shop.cutting import plans, queries
from shop.cutting.rules import clock_words

#: From then on no side can still be cut.
LONGEST = timedelta(seconds=plans.CUT_S[1])


def concerns(now: datetime) -> Iterator[Concern]:
    """Of each side that was started and is not logged: once it is left overnight, or runs longer than any side. No
    query beside `queries.heads`."""
    for one in queries.begun():
        overnight = clock.day_of(one.started_at) < clock.day_of(now) and now - one.started_at > timedelta(hours=1)
        if not overnight and not (one.is_running and now - one.started_at > LONGEST):
            continue
        yield Concern(
            key=f"cutting:left:{one.pk}",
            grade=Grade.CARE,
            subject=one.lathe,
            headline=f"{one.name} on {one.lathe} was never stopped"
            if one.is_running
            else f"Nobody has said what became of {one.name} on {one.lathe}",
            reason=(
                f"It was started at {clock_words(one.started_at)}. Until it is logged, its blank, its stylus's hours "
                "and its chip are not counted."
            ),
            what_to_do="Say what became of it, and how long it was cut; or that it was not cut.",
            link=one.link,
        )
