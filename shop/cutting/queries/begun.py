"""Sides that were begun and of which nobody has said what became of them, as pages of the day show them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet
from django.urls import reverse

from shop import clock
from shop.cutting.models import UNDER_WAY, RunningSide, Side
from shop.cutting.queries.sides import sides
from shop.cutting.queries.styli import heads
from shop.cutting.rules import clock_words
from shop.topic import moment


def runs() -> QuerySet[RunningSide]:
    """Started sides with all that their pages show."""
    return RunningSide.objects.select_related(
        "wanted__booking", "lathe", "life__stylus__kind", "lot__item", "started_by", "stopped_by", "dropped_by"
    )


def open_runs() -> QuerySet[RunningSide]:
    """Those of which nobody has said yet what became of them, the one begun first on top."""
    return runs().filter(UNDER_WAY).order_by("started_at", "id")


def may_be_of(run: RunningSide) -> QuerySet[Side]:
    """The sides that stand and may be what a stopped side was logged as, the last first: logged since it was begun, on
    its lathe with its edge, for its booked side or where one of the two has none; and no other start's."""
    found = sides().filter(
        lathe=run.lathe_id, life=run.life_id, recorded_at__gte=run.started_at, run__isnull=True, withdrawal__isnull=True
    )
    return found.filter(Q(wanted=run.wanted_id) | Q(wanted__isnull=True)) if run.wanted_id is not None else found


@dataclass(frozen=True)
class Begun:
    """One of them. wanted: the key of the booked side it is for, whose name is `code` and `label`; lot, blank_in: its
    blank's, and how many inches that has."""

    pk: int
    lathe: str
    wanted: int | None
    code: str
    label: str
    lot: int
    blank_in: int
    started_at: datetime
    stopped_at: datetime | None

    @property
    def is_running(self) -> bool:
        return self.stopped_at is None

    @property
    def name(self) -> str:
        """As a sentence begins with it."""
        return f"{self.code} {self.label}" if self.wanted is not None else "A side without a booking"

    @property
    def words(self) -> str:
        """How it stands: "runs since 10:12"."""
        if self.stopped_at is None:
            return f"runs since {_time_words(self.started_at)}"
        return f"stopped at {_time_words(self.stopped_at)}: say what became of it"

    @property
    def link(self) -> str:
        return reverse("cutting:running-side", args=[self.pk])


def _time_words(at: datetime) -> str:
    """The time of today, with the day for another."""
    words = clock_words(at)
    return words.partition(" ")[0] if clock.day_of(at) == clock.today() else words


def begun() -> list[Begun]:
    """Every one of them, that begun first on top. No query beside `heads`."""
    lathes: tuple[Any, ...] = heads()
    found = [_begun(str(lathe), row) for lathe in lathes for row in lathe.begun or ()]
    return sorted(found, key=lambda one: (one.started_at, one.pk))


def _begun(lathe: str, row: dict[str, Any]) -> Begun:
    return Begun(
        pk=row["pk"],
        lathe=lathe,
        wanted=row["wanted"],
        code=row["code"] or "",
        label=row["label"] or "",
        lot=row["lot"],
        blank_in=row["blank_in"],
        started_at=moment(row["started"]),
        stopped_at=moment(row["stopped"]) if row["stopped"] else None,
    )
