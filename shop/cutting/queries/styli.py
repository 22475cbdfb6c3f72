"""Reading styli, their lives, and what is left of them."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property, lru_cache
from typing import Any

from django.db.models import Case, DateField, Exists, FilteredRelation, OuterRef, Prefetch, Q, QuerySet, Subquery, When

from shop import clock
from shop.alongside import one_row, own_row, row_of, rows_along
from shop.calc.life import LifePosterior, LifePrior
from shop.cutting.models import (
    AGAINST_STYLUS,
    UNDER_WAY,
    Away,
    Blame,
    BookingSide,
    CuttingLimits,
    EdgeLook,
    EndReason,
    Fitting,
    Lathe,
    Life,
    Overruling,
    RunningSide,
    Side,
    Stylus,
    StylusKind,
    came_with_s,
)
from shop.cutting.queries.overruled import Covered
from shop.cutting.wording import chance_words
from shop.prepared import Given, prepared
from shop.recall import recalled
from shop.stock.models import Lot

#: The confidences at which the hours left are told.
CONFIDENCES = (0.5, 0.8, 0.95)
#: Of an edge of which nobody knows what it had cut before it was kept here.
AGE_NOT_KNOWN = "Its age is not known: nobody knows how many hours its edge had cut before it came here."


def fittings() -> QuerySet[Fitting]:
    return Fitting.objects.select_related("life__stylus__kind", "lathe")


@recalled
def heads() -> tuple[Lathe, ...]:
    """Every lathe by name, with what is in its head now as `now`; a lathe with an empty head has none. One query.

    With the shop's limits, for `limits`; for `doubts_in_heads`, of the side that speaks against that edge most gravely:
    when it was cut, what it was rejected for and whom that blames, each None where none does; and for `overruled_today`
    what of the advice about it was overruled today; and for `begun` the sides begun on it of which nobody has said what
    became of them.
    """
    return tuple(_heads(today=clock.today()))


@prepared
def _heads() -> QuerySet[Lathe]:
    inside = FilteredRelation("fittings", condition=Q(fittings__off_at__isnull=True))
    beside = Lathe.objects.annotate(now=inside, limits=one_row(CuttingLimits))
    joined = beside.select_related("now__life__stylus__kind")  # type: ignore[misc]
    chipped_first = Case(When(reject_reason__blame=Blame.EDGE, then=0), default=1)
    said_today = Overruling.objects.filter(life=OuterRef("now__life"), day=Given("today", DateField())).order_by(
        "-at", "-id"
    )
    gravest = speaking_against().filter(life=OuterRef("now__life")).order_by(chipped_first, "-at", "-id")
    doubted = joined.annotate(
        against_at=Subquery(gravest.values("at")[:1]),
        against_for=Subquery(gravest.values("reject_reason__name")[:1]),
        against_what=Subquery(gravest.values("reject_reason__blame")[:1]),
        overruled=Subquery(said_today.values("covers")[:1]),
    )
    begun = RunningSide.objects.filter(UNDER_WAY, lathe=OuterRef("pk"))
    run = {
        "pk": "pk",
        "wanted": "wanted_id",
        "code": "wanted__booking__code",
        "label": "wanted__label",
        "lot": "lot_id",
        "blank_in": "lot__item__blank_in",
        "started": "started_at",
        "stopped": "stopped_at",
    }
    under_way = doubted.annotate(begun=rows_along(begun, **run))
    return under_way.order_by("name")


def fitted_lives() -> list[Fitting]:
    """What is in each lathe's head now, by lathe; see `heads`."""
    return [lathe.now for lathe in heads() if hasattr(lathe, "now")]


def overruled_today() -> dict[int, Covered]:
    """What of the advice about an edge in a head was overruled today, by its life; see `heads`."""
    lathes: Iterable[Any] = heads()
    return {lathe.now.life_id: Covered.of(lathe.overruled) for lathe in lathes if lathe.overruled}


def empty_heads() -> list[Lathe]:
    """The lathes in use that have no stylus; see `heads`."""
    return [lathe for lathe in heads() if lathe.is_active and not hasattr(lathe, "now")]


@recalled
def limits() -> CuttingLimits:
    """The shop's own limits for cutting; the model's defaults where nobody has set any. No query beside `heads`."""
    lathes: tuple[Any, ...] = heads()
    if lathes:
        return row_of(CuttingLimits, lathes[0].limits)
    return own_row(CuttingLimits)


# Edges in doubt -------------------------------------------------------------------------------------------------------


def speaking_against() -> QuerySet[Side]:
    """The sides that put their life's edge in doubt: rejected for something against the stylus and not withdrawn, and
    nobody looked the edge over since."""
    looked_over = EdgeLook.objects.filter(life=OuterRef("life"), at__gte=OuterRef("at"))
    rejected = Side.objects.filter(reject_reason__blame__in=AGAINST_STYLUS, withdrawal__isnull=True)
    return rejected.filter(~Exists(looked_over))


@dataclass(frozen=True)
class EdgeDoubt:
    """A life in a head whose edge is in doubt: since a side cut `at` was rejected for `reason`."""

    life: Life
    at: datetime
    reason: str
    chipped: bool


def doubts_in_heads() -> list[EdgeDoubt]:
    """The edges in a head that are in doubt, each with the gravest of what speaks against it; see `heads`."""
    lathes: Iterable[Any] = heads()
    return [
        EdgeDoubt(lathe.now.life, lathe.against_at, lathe.against_for, lathe.against_what == Blame.EDGE)
        for lathe in lathes
        if lathe.against_at is not None
    ]


def doubted_edges(life_ids: Iterable[int]) -> dict[int, list[Side]]:
    """Of these lives the open ones whose edge is in doubt, each with the sides that say so, last first. One query."""
    found: dict[int, list[Side]] = {}
    against = speaking_against().filter(life__in=list(life_ids), life__ended_at__isnull=True)
    for side in against.select_related("reject_reason", "wanted__booking").order_by("-at", "-id"):
        found.setdefault(side.life_id, []).append(side)
    return found


# What is left of a life -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Record:
    """The lives of one kind whose age is known: hours, and whether each ended by wear. Those that did not only say "at
    least so long". entered: the hours at which each came to be kept here.

    unknown: how many lives besides tell nothing, because nobody knows what their edge had cut before it came.
    """

    hours: tuple[float, ...]
    worn: tuple[bool, ...]
    entered: tuple[float, ...] = ()
    unknown: int = 0

    @property
    def ended(self) -> int:
        return sum(self.worn)

    @property
    def running(self) -> int:
        return len(self.worn) - self.ended


@dataclass(frozen=True)
class Outlook:
    """What a life still has in it: advice, from its kind's posterior.

    hours: cut so far, here and before; ended: the worn lives behind it; running: those that only say "at least so
    long"; kind: whose expectation fills the gap. age_is_known: where it is not, `hours` is the least it may have cut,
    and chances and hours left are the most there can be: those of an edge that was fresh when it came.
    """

    kind: StylusKind
    hours: float
    ended: int
    running: int
    posterior: LifePosterior
    age_is_known: bool = True

    @property
    def at_most(self) -> str:
        """Stands before a chance that is too small."""
        return "" if self.age_is_known else "at most "

    def if_fresh(self, what: str, extra_s: float) -> str:
        """Of an edge of unknown age, all that can be said of the chance that it finishes `what`."""
        chance = chance_words(self.chance(extra_s))
        return (
            f"Had it been fresh then, the chance that it finishes {what} would be {chance}; how far below that it is, "
            "nobody can say."
        )

    @property
    def cut_words(self) -> str:
        """The hours it has cut: "12.5 h", "at least 3.0 h"."""
        return f"{'' if self.age_is_known else 'at least '}{self.hours:.1f} h"

    def chance(self, extra_s: float) -> float:
        """Chance, 0 to 1, of `extra_s` more seconds of cutting before the edge is worn."""
        return self.posterior.chance_of_finishing(self.hours, extra_s / 3600)

    def hours_left(self, confidence: float) -> float:
        """Hours that it will still cut with that confidence."""
        return self.posterior.remaining(self.hours, 1 - confidence)

    @cached_property
    def left(self) -> list[tuple[float, float]]:
        """(confidence, hours left) for each of CONFIDENCES."""
        return [(confidence, self.hours_left(confidence)) for confidence in CONFIDENCES]

    @property
    def sure_h(self) -> float:
        """Hours left at 80 % confidence, the figure that is shown large."""
        return self.hours_left(0.8)

    @property
    def basis(self) -> str:
        """What the numbers rest on, in a sentence or two."""
        return self.posterior.rests_on if self.age_is_known else f"{AGE_NOT_KNOWN} {self.posterior.rests_on}"


@recalled
def records(kind_ids: frozenset[int]) -> dict[int, Record]:
    """The lives of each of these kinds that cut anything, by kind: one query."""
    found: dict[int, list[tuple[float, bool, float]]] = {pk: [] for pk in sorted(kind_ids)}
    unknown: Counter[int] = Counter()
    lives = Life.objects.filter(stylus__kind__in=list(found), cut_s__gt=0).order_by("id")
    columns = lives.values_list("stylus__kind_id", "cut_s", "end_reason", "number", "stylus__before_s")
    for kind_id, cut_s, reason, number, before_s in columns:
        came_s = came_with_s(number, before_s)
        if came_s is None:
            unknown[kind_id] += 1
        else:
            found[kind_id].append(((came_s + cut_s) / 3600, reason == EndReason.WORN, came_s / 3600))
    return {
        pk: Record(
            hours=tuple(hours for hours, _, _ in rows),
            worn=tuple(worn for _, worn, _ in rows),
            entered=tuple(came for _, _, came in rows),
            unknown=unknown[pk],
        )
        for pk, rows in found.items()
    }


@lru_cache(maxsize=64)
def _posterior(expected_h: float, sureness: str, record: Record) -> LifePosterior:
    """Kept, because every page that shows a stylus asks for the same one until a side is cut."""
    return LifePosterior(LifePrior(expected_h, sureness), record.hours, record.worn, entered=record.entered)


def posterior_of(kind: StylusKind, record: Record) -> LifePosterior:
    return _posterior(kind.expected_h, kind.sureness, record)


def outlooks(lives: Iterable[Life]) -> dict[int, Outlook]:
    """The outlook of each life, by its id: one query, if their styli and kinds were selected with them."""
    asked = list(lives)
    by_kind = records(frozenset(life.stylus.kind_id for life in asked))
    return {
        life.pk: Outlook(
            kind=life.stylus.kind,
            hours=life.hours,
            ended=by_kind[life.stylus.kind_id].ended,
            running=by_kind[life.stylus.kind_id].running,
            posterior=posterior_of(life.stylus.kind, by_kind[life.stylus.kind_id]),
            age_is_known=life.age_is_known,
        )
        for life in asked
    }


def life_outlook(life: Life) -> Outlook:
    """The outlook of one life."""
    return outlooks([life])[life.pk]


# Pages ----------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class StylusState:
    """A stylus as lists show it: where it is, and its life: the present one, or the last of one that is retired or
    away; None for a fresh edge."""

    stylus: Stylus
    life: Life | None
    fitting: Fitting | None
    away: Away | None = None

    @property
    def next_life(self) -> Life:
        """The life of an edge that was not used here yet; not to be saved."""
        return _next_life(self.stylus)

    @property
    def is_in_drawer(self) -> bool:
        return self.fitting is None and self.away is None and self.stylus.retired_at is None

    @property
    def place(self) -> str:
        if self.fitting is not None:
            return f"in {self.fitting.lathe}"
        if self.stylus.retired_at is not None:
            return "retired"
        return f"away with {self.away.sent_to}" if self.away is not None else "in the drawer"


def _next_life(stylus: Stylus) -> Life:
    """No query for a stylus of `styli`."""
    return Life(stylus=stylus, number=1 + max((life.number for life in stylus.lives.all()), default=0))


def _lives_with_fittings() -> QuerySet[Life]:
    return (
        Life.objects.select_related("relapped")
        .order_by("number")
        .prefetch_related(
            Prefetch(
                "fittings", Fitting.objects.select_related("lathe", "fitted_by", "off_by").order_by("fitted_at", "id")
            )
        )
    )


def styli(*, retired: bool = False) -> QuerySet[Stylus]:
    """Styli with their lives and fittings, for `state_of`: in use by mark, those in a head on top; or the retired,
    latest first."""
    found = Stylus.objects.select_related("kind").prefetch_related(
        Prefetch("lives", _lives_with_fittings()), "times_away"
    )
    if retired:
        return found.filter(retired_at__isnull=False).order_by("-retired_at", "-id")
    inside = Exists(Fitting.objects.filter(life__stylus=OuterRef("pk"), off_at__isnull=True))
    return found.filter(retired_at__isnull=True).order_by(inside.desc(), "mark")


def state_of(stylus: Stylus) -> StylusState:
    """No query for a stylus of `styli`."""
    lives = list(stylus.lives.all())
    life = lives[-1] if lives else None
    fitting = next((one for one in life.fittings.all() if one.off_at is None), None) if life else None
    away = next((one for one in stylus.times_away.all() if one.back_at is None), None)
    if life is not None and life.ended_at is not None and away is None and stylus.retired_at is None:
        life = None  # it was re-lapped since
    return StylusState(stylus, life, fitting, away)


def sides_of(life: Life) -> QuerySet[Side]:
    """The sides a life cut that stand, first first."""
    return (
        Side.objects.filter(life=life, withdrawal__isnull=True)
        .select_related("wanted__booking", "reject_reason")
        .order_by("at", "id")
    )


def kinds() -> list[tuple[StylusKind, Record]]:
    """Every kind with the record of its lives, those in use first: two queries."""
    found = list(StylusKind.objects.order_by("-is_active", "name"))
    kept = records(frozenset(kind.pk for kind in found))
    return [(kind, kept[kind.pk]) for kind in found]


def stylus_lots() -> QuerySet[Lot]:
    """Stock lots that a stylus can be taken from."""
    return Lot.objects.filter(item__kind="stylus", on_hand__gt=0).select_related("item").order_by("received_on", "id")


def styli_of_any_state() -> QuerySet[Stylus]:
    """As `styli`, retired or not, and with the looks at each life's edge."""
    return (
        Stylus.objects.select_related("kind", "lot__item", "lot__supplier", "supplier", "retired_by")
        .prefetch_related(
            Prefetch("lives", _lives_with_fittings()),
            Prefetch("lives__looks", EdgeLook.objects.select_related("by").order_by("at", "id")),
            Prefetch("times_away", Away.objects.select_related("sent_by", "back_by")),
        )
        .order_by("mark")
    )


def stylus_outlook(stylus: Stylus, life: Life | None) -> Outlook | None:
    """The outlook of a stylus: of its open life, of a fresh edge if it has none yet; None once retired or while it is
    away. One query."""
    if stylus.retired_at is not None or any(away.back_at is None for away in stylus.times_away.all()):
        return None
    if life is None or life.ended_at is not None:
        life = _next_life(stylus)
    life.stylus = stylus
    return outlooks([life])[life.pk]


@dataclass(frozen=True)
class Chance:
    """The chance, 0 to 1, of finishing some sides: what they are, how long they take."""

    what: str
    sides: int
    cut_s: int
    chance: float


def chances(outlook: Outlook, waiting: Iterable[BookingSide], today: date) -> list[Chance]:
    """Of finishing the next side, today's, and all that are booked; `waiting` is in the order of the days."""
    every = list(waiting)
    due = [side for side in every if side.booking.cut_on <= today]
    found = []
    for what, sides in (("the next side", every[:1]), ("today's sides", due), ("all booked sides", every)):
        if sides:
            cut_s = sum(side.play_s for side in sides)
            found.append(Chance(what, len(sides), cut_s, outlook.chance(cut_s)))
    return found


@dataclass(frozen=True)
class UsualHours:
    """Hours of a fresh edge by the posterior: as many lives last longer as shorter than `half`; 4 in 5 lie between."""

    half: float
    low: float
    high: float


def usual_hours(kind: StylusKind, record: Record) -> UsualHours:
    posterior = posterior_of(kind, record)
    return UsualHours(
        half=posterior.remaining(0.0, 0.5), low=posterior.remaining(0.0, 0.1), high=posterior.remaining(0.0, 0.9)
    )
