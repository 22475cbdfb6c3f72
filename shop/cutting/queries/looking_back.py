"""What the sides of some time come to: hours by stylus, and rejects by reason, lot, age of the edge and month."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from django.db.models import Count, Sum

from shop import clock
from shop.calc.share import Share, wilson
from shop.cutting.models import AGAINST_STYLUS, Master, Outcome, Report, Side, came_with_s

#: The most sides that are looked at together, the latest of a time.
MOST_SIDES = 20_000
#: The hours of an edge's age are taken together by so many.
AGE_STEP_H = 2.0
#: An interval of a share is told at this confidence.
LEVEL = 0.95
_NO_AGE = "age not known"


class Cut(NamedTuple):
    """One side, as it is counted here. age_h: what its edge had cut before it; None where
    nobody knows."""

    month: date
    cut_s: int
    length_mm: int
    outcome: str
    reason: str | None
    blame: str | None
    lot: tuple[int, str]
    stylus: tuple[int, str]
    age_h: float | None

    @property
    def is_rejected(self) -> bool:
        return self.outcome == Outcome.REJECTED

    @property
    def may_be_its_blank(self) -> bool:
        """Whether it was rejected for what can be the blank's, not for what the list holds against the stylus."""
        return self.is_rejected and self.blame not in AGAINST_STYLUS


@dataclass(frozen=True)
class Use:
    """What one stylus cut."""

    pk: int
    mark: str
    hours: float
    metres: float
    sides: int
    rejected: int


@dataclass(frozen=True)
class Rejects:
    """How many of the sides that belong together were rejected. pk: of the lot or stylus, where it is one's."""

    name: str
    rejected: int
    sides: int
    pk: int | None = None

    @property
    def share(self) -> Share:
        """With Wilson's interval."""
        return wilson(self.rejected, self.sides, LEVEL)


@dataclass(frozen=True)
class Reported:
    """What platers reported of the masters of one lot or stylus."""

    pk: int
    name: str
    fine: int
    noisy: int
    refused: int


@dataclass(frozen=True)
class LookingBack:
    """styli: by hours, the most first; the others as they are named. Test cuts count in hours, never as sides that
    might have been rejected. lots, all_of_lots: without what was rejected for the stylus, which says nothing of a
    blank. is_cut_off: there were more sides than are looked at, and the earliest are left out."""

    sides: int
    tests: int
    styli: list[Use]
    reasons: list[tuple[str, int]]
    lots: list[Rejects]
    all_of_lots: Rejects | None
    ages: list[Rejects]
    months: list[Rejects]
    all: Rejects | None
    plated_lots: list[Reported]
    plated_styli: list[Reported]
    is_cut_off: bool


def looking_back(start: datetime, end: datetime) -> LookingBack:
    """Of the sides that ended from `start` on and before `end` and stand: three queries."""
    cuts, is_cut_off = _cuts(start, end)
    tried = [cut for cut in cuts if cut.outcome != Outcome.TEST]
    reasons = Counter(cut.reason for cut in tried if cut.reason is not None)
    lots, styli = _reported(start, end)
    return LookingBack(
        sides=len(tried),
        tests=len(cuts) - len(tried),
        styli=_uses(cuts),
        reasons=sorted(reasons.items(), key=lambda pair: (-pair[1], pair[0])),
        lots=_by(
            tried,
            lambda cut: (cut.lot[1], cut.lot[0]),
            lambda one: (-one.rejected, -one.sides, one.name),
            counts=lambda cut: cut.may_be_its_blank,
        ),
        all_of_lots=Rejects("all", sum(cut.may_be_its_blank for cut in tried), len(tried)) if tried else None,
        ages=_by(tried, lambda cut: (_age_words(cut.age_h), None), _by_age),
        months=[
            Rejects(f"{date.fromisoformat(one.name):%b %Y}", one.rejected, one.sides)
            for one in _by(tried, lambda cut: (cut.month.isoformat(), None), lambda one: one.name)
        ],
        all=Rejects("all", sum(cut.is_rejected for cut in tried), len(tried)) if tried else None,
        plated_lots=lots,
        plated_styli=styli,
        is_cut_off=is_cut_off,
    )


def _cuts(start: datetime, end: datetime) -> tuple[list[Cut], bool]:
    stand = Side.objects.filter(withdrawal__isnull=True)
    columns = (
        "at", "cut_s", "length_mm", "outcome", "reject_reason__name", "reject_reason__blame", "lot_id", "lot__code",
        "life__stylus_id", "life__stylus__mark", "life__number", "life__stylus__before_s", "life_id",
    )  # fmt: skip
    latest = stand.filter(at__gte=start, at__lt=end).order_by("-at", "-id").values_list(*columns)[: MOST_SIDES + 1]
    rows = list(latest)
    is_cut_off = len(rows) > MOST_SIDES
    rows = rows[:MOST_SIDES][::-1]
    if not rows:
        return [], False
    earlier = stand.filter(life__in={row[-1] for row in rows}, at__lt=rows[0][0])
    age_s = Counter(dict(earlier.order_by().values_list("life").annotate(Sum("cut_s"))))
    found = []
    for at, cut_s, length_mm, outcome, reason, blame, lot, code, stylus, mark, number, before_s, life in rows:
        month = clock.day_of(at).replace(day=1)
        came_s = came_with_s(number, before_s)
        age_h = None if came_s is None else (came_s + age_s[life]) / 3600
        found.append(Cut(month, cut_s, length_mm, outcome, reason, blame, (lot, code), (stylus, mark), age_h))
        age_s[life] += cut_s
    return found, is_cut_off


def _age_words(age_h: float | None) -> str:
    if age_h is None:
        return _NO_AGE
    low = AGE_STEP_H * int(age_h / AGE_STEP_H)
    return f"{low:g} to {low + AGE_STEP_H:g} h"


def _by_age(one: Rejects) -> float:
    return float("inf") if one.name == _NO_AGE else float(one.name.split()[0])


def _uses(cuts: Iterable[Cut]) -> list[Use]:
    kept: dict[tuple[int, str], list[Cut]] = {}
    for cut in cuts:
        kept.setdefault(cut.stylus, []).append(cut)
    found = [
        Use(
            pk,
            mark,
            hours=sum(cut.cut_s for cut in own) / 3600,
            metres=sum(cut.length_mm for cut in own) / 1000,
            sides=len(own),
            rejected=sum(cut.is_rejected for cut in own),
        )
        for (pk, mark), own in kept.items()
    ]
    return sorted(found, key=lambda one: (-one.hours, one.mark))


def _by(
    cuts: Iterable[Cut],
    what: Callable[[Cut], tuple[str, int | None]],
    order: Callable[[Rejects], object],
    counts: Callable[[Cut], bool] = lambda cut: cut.is_rejected,
) -> list[Rejects]:
    tried: Counter[tuple[str, int | None]] = Counter()
    rejected: Counter[tuple[str, int | None]] = Counter()
    for cut in cuts:
        tried[what(cut)] += 1
        rejected[what(cut)] += counts(cut)
    found = [Rejects(name, rejected[name, pk], count, pk) for (name, pk), count in tried.items()]
    return sorted(found, key=order)  # type: ignore[arg-type]


def _reported(start: datetime, end: datetime) -> tuple[list[Reported], list[Reported]]:
    """By lot and by stylus, those with most that was not fine first."""
    told = (
        Master.objects.filter(side__at__gte=start, side__at__lt=end, side__withdrawal__isnull=True)
        .exclude(report="")
        .order_by()
        .values_list("side__lot_id", "side__lot__code", "side__life__stylus_id", "side__life__stylus__mark", "report")
        .annotate(Count("pk"))
    )
    lots: dict[tuple[int, str], Counter[str]] = {}
    styli: dict[tuple[int, str], Counter[str]] = {}
    for lot, code, stylus, mark, report, count in told:
        lots.setdefault((lot, code), Counter())[report] += count
        styli.setdefault((stylus, mark), Counter())[report] += count
    return _as_reported(lots), _as_reported(styli)


def _as_reported(counted: dict[tuple[int, str], Counter[str]]) -> list[Reported]:
    found = [
        Reported(pk, name, count[Report.FINE], count[Report.NOISY], count[Report.REFUSED])
        for (pk, name), count in counted.items()
    ]
    return sorted(found, key=lambda one: (-(one.noisy + one.refused), -one.fine, one.name))
