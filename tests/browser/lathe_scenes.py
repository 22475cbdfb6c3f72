"""Which record each page at the lathe is opened on, and the sides that are under way for them."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

from shop import clock
from shop.cutting import actions as cutting
from shop.cutting.actions import WantedSide, WantedTitle
from shop.cutting.models import BookingSide, HeadStep, Lathe, RunningSide
from shop.people.models import Person
from shop.stock.queries import usable_lots
from tests.makers import anyway


def _runs() -> int:
    return RunningSide.objects.get(stopped_at=None, dropped_at=None).pk


def _stopped() -> int:
    return RunningSide.objects.get(stopped_at__isnull=False, side=None).pk


LATHE_SCENES: dict[str, Callable[[], Any]] = {
    "cutting:change-head-step": lambda: HeadStep.objects.order_by("-pk")[0].pk,
    "cutting:cut-sheet-pdf": lambda: BookingSide.objects.order_by("-pk")[0].pk,
    **dict.fromkeys(["cutting:judge-side", "cutting:judge-as-logged"], _stopped),
    **dict.fromkeys(["cutting:running-side", "cutting:stop-side", "cutting:drop-side"], _runs),
}


def under_way(owner: Person) -> None:
    """A side that was stopped and is not judged yet, with one logged since that it may be, and one of two titles that
    runs."""
    lathe = Lathe.objects.filter(fittings__off_at=None, fittings__isnull=False)[0]
    lot = usable_lots(day=clock.today(), blank_in=14).filter(on_hand__gte=3)[0]
    facts = {"by": owner, "lathe": lathe, "lot": lot, "pitch_um": None}
    stopped = anyway(cutting.start_side, **facts, wanted=None, disc_in=12, speed="33", width_um=56.0)
    cutting.stop_side(by=owner, once=uuid4(), run=stopped)
    logged = {"wanted": None, "outcome": "test", "cut_s": 5, "disc_in": 12, "speed": "33", "width_um": 56.0}
    # Of another time, so that it is in no other side's way.
    anyway(cutting.log_side, **facts, **logged, at=clock.now() - timedelta(minutes=30))
    titles = [WantedTitle(200, "Half a Kite"), WantedTitle(260, "The Other Half")]
    side = WantedSide(label="A", play_s=None, titles=titles, level_note="the drums from 2:10")
    day = clock.today() + timedelta(days=1)
    booking = anyway(cutting.add_booking, by=owner, code="X-2", title="Kites", customer="", cut_on=day, sides=[side])
    anyway(cutting.start_side, **facts, wanted=booking.wanted.get(), disc_in=12, speed="33", width_um=56.0)
