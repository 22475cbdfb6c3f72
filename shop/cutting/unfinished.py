"""What cutting worries about among sides that were started: left running, or of which nobody has said what became."""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import Any

from django.urls import reverse

from shop import clock
from shop.concern import Concern, Grade
from shop.cutting import plans, queries
from shop.cutting.rules import clock_words

#: From then on no side can still be cut.
LONGEST = timedelta(seconds=plans.CUT_S[1])


def concerns(now: datetime) -> Iterator[Concern]:
    """Of each lathe the side that was started on it first and is not logged: once it is left overnight, or runs longer
    than any side. No query beside `queries.heads`."""
    lathes: Iterable[Any] = queries.heads()
    for lathe in lathes:
        if lathe.run_pk is None:
            continue
        begun: datetime = lathe.run_started
        runs = lathe.run_stopped is None
        overnight = clock.day_of(begun) < clock.day_of(now) and now - begun > timedelta(hours=1)
        if not overnight and not (runs and now - begun > LONGEST):
            continue
        name = f"{lathe.run_code} {lathe.run_label}" if lathe.run_code else "A side without a booking"
        yield Concern(
            key=f"cutting:left:{lathe.run_pk}",
            grade=Grade.CARE,
            subject=str(lathe),
            headline=f"{name} on {lathe} was never stopped"
            if runs
            else f"Nobody has said what became of {name} on {lathe}",
            reason=(
                f"It was started at {clock_words(begun)}. Until it is logged, its blank, its stylus's hours and its "
                "chip are not counted."
            ),
            what_to_do="Say what became of it, and how long it was cut; or that it was not cut.",
            link=reverse("cutting:running-side", args=[lathe.run_pk]),
        )
