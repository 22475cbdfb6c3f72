"""What the silent-groove levels of a life say: where they are going, and whether they jumped.

What matters to lists, concerns and advice is kept on the life, and worked out anew in the transaction in which anything
changes that it rests on: a level, a side, a look at the edge, or the shop's limit.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate

from shop.alongside import own_row
from shop.calc.drift import EwmaPoint, ewma_chart, surprises
from shop.calc.life import Crossing, hours_to_threshold
from shop.cutting.models import CuttingLimits, EdgeLook, Life, NoiseLevel, Side
from shop.cutting.wording import level_words
from shop.refusal import Doubt

#: What one level differs from another by when nothing has changed, until a life's own levels say better: in dB. Our own
#: figure, no source.
USUAL_SD_DB = 1.0
#: A trend is told from so many levels on; so many it takes before it counts in the advice. Our own.
FEWEST, FEWEST_THAT_COUNT = 4, 5
#: The prediction interval that is shown, and whose near end counts: nine in ten levels lie below its upper end.
LEVEL = 0.8
#: The chart's weight and width; usual ones (NIST/SEMATECH e-Handbook 6.3.2.4 names 0.2 to 0.3, and 3).
WEIGHT, WIDTH = 0.3, 3.0


@dataclass(frozen=True)
class Level:
    """A level with the hours its life had cut when it was taken."""

    row: NoiseLevel
    hours: float

    @property
    def db(self) -> float:
        return self.row.level_db


@dataclass(frozen=True)
class Noise:
    """The levels of a life in the order of their hours, and what they come to.

    crossing: when they are likely to cross the limit, in hours of cutting from `hours`, None without a limit or with
    too few levels. chart: an EWMA chart of how far each level lay from the line through those before it, beginning with
    levels[first].
    """

    levels: list[Level]
    hours: float
    limit_db: float | None
    crossing: Crossing | None
    chart: list[EwmaPoint]
    first: int

    @property
    def last_db(self) -> str:
        """The last level, as it is written."""
        return f"{self.levels[-1].db:g}".replace("-", "\u2212") if self.levels else ""

    @property
    def is_over(self) -> bool:
        """Whether the last level lies above the shop's limit."""
        return bool(self.levels) and self.limit_db is not None and self.levels[-1].db > self.limit_db

    @property
    def has_jumped(self) -> bool:
        """Whether the chart is out at its last point, on the noisy side."""
        return bool(self.chart) and self.chart[-1].ewma > self.chart[-1].high

    @property
    def counts(self) -> bool:
        """Whether there are levels enough for the trend to count in the advice."""
        return len(self.levels) >= FEWEST_THAT_COUNT


def read(levels: Sequence[Level], hours: float, limit_db: float | None, looks: Iterable[datetime] = ()) -> Noise:
    """What these levels, in the order of their hours, come to for a life that has cut `hours`.

    looks: when somebody saw that the edge is whole. The chart begins anew after one that came when it was out: what is
    heard from then on is how that edge sounds.
    """
    at, heard = [one.hours for one in levels], [one.db for one in levels]
    crossing = None
    if limit_db is not None and len(levels) >= FEWEST and at[-1] > at[0]:
        crossing = hours_to_threshold(at, heard, limit_db, now=max(hours, at[-1]), level=LEVEL)
    begin = 0
    for look in sorted(looks):
        until = sum(1 for one in levels if one.row.at <= look)
        before = _chart(levels[begin:until])
        if before and before[-1].out:
            begin = until
    chart = _chart(levels[begin:])
    return Noise(list(levels), hours, limit_db, crossing, chart, first=len(levels) - len(chart))


def _chart(levels: Sequence[Level]) -> list[EwmaPoint]:
    """Of how far each level lay from the line through those before it; nothing of the first few."""
    apart = surprises([one.hours for one in levels], [one.db for one in levels], usual_sd=USUAL_SD_DB)
    return ewma_chart([one for one in apart if one is not None], 0.0, 1.0, weight=WEIGHT, width=WIDTH)


def with_hours(
    levels: Iterable[NoiseLevel], sides: Iterable[tuple[object, int, int]], before_s: int = 0
) -> list[Level]:
    """Each level with the hours cut by then, in their order. sides: (end of the cut, key, seconds) of the life's sides
    that stand, in their order; a level of a side counts that side, one of a test cut all that ended by then. before_s:
    what the edge had cut before any of them."""
    ended, keys, seconds = [], [], []
    for at, key, cut_s in sides:
        ended.append(at)
        keys.append(key)
        seconds.append(cut_s)
    total = [*accumulate(seconds, initial=before_s)]
    place_of = {key: place for place, key in enumerate(keys, 1)}
    found = []
    for row in levels:
        place = place_of.get(row.side_id) if row.side_id is not None else None
        if place is None:
            place = bisect_right(ended, row.at)  # type: ignore[type-var]
        found.append(Level(row, total[place] / 3600))
    return sorted(found, key=lambda one: (one.hours, one.row.at, one.row.pk))


def of_life(life: Life, limit_db: float | None) -> Noise:
    """What a life's levels that were not struck out come to: three queries, one where it has none."""
    rows = list(life.noise_levels.filter(struck_at__isnull=True).select_related("by", "side").order_by("at", "id"))
    if not rows:
        return read([], life.hours, limit_db)
    sides = Side.objects.filter(life=life, withdrawal__isnull=True).order_by("at", "id")
    looks = EdgeLook.objects.filter(life=life).values_list("at", flat=True)
    levels = with_hours(rows, sides.values_list("at", "id", "cut_s"), life.before_s or 0)
    return read(levels, life.hours, limit_db, looks)


def above_reference(level_db: float, *, field: str) -> list[Doubt]:
    """A doubt about a level, or a limit, above the room's own reference of 0 dB: most often a minus sign is missing."""
    if level_db <= 0:
        return []
    told = level_words(level_db)
    return [
        Doubt(
            key=f"above-reference-{level_db:g}:{field}",
            field=field,
            sentence=f"{told} is above this room's own reference, which a silent groove hardly is. Is a minus missing?",
            confirm=f"It is right: {told}, above the reference.",
        )
    ]


def look_again(life: Life) -> None:
    """Work out anew what is kept on the life."""
    if not NoiseLevel.objects.filter(life=life).exists():
        return
    fresh = Life.objects.select_related("stylus").get(pk=life.pk)
    limits = own_row(CuttingLimits)
    noise = of_life(fresh, limits.noise_db)
    soonest, expected = (noise.crossing.soonest, noise.crossing.expected) if noise.crossing else (None, None)
    Life.objects.filter(pk=life.pk).update(
        noise_over=noise.is_over,
        noise_jumped=noise.has_jumped,
        noise_soonest_s=_age_s(fresh, soonest) if noise.counts else None,
        noise_expected_s=_age_s(fresh, expected) if noise.counts else None,
    )


def look_at_all_again() -> None:
    """As `look_again`, for every life that is still open: the shop's limit has changed."""
    for life in Life.objects.filter(ended_at__isnull=True, noise_levels__isnull=False).distinct():
        look_again(life)


def _age_s(life: Life, ahead_h: float | None) -> int | None:
    """The seconds the life will have cut here by then; None for never, or further off than is ever cut."""
    if ahead_h is None:
        return None
    age = life.cut_s + 3600 * ahead_h
    return round(age) if age < 2_000_000_000 else None
