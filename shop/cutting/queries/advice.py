"""What to do about an edge, in one sentence with its reasons: by its life, its noise, and what a change costs here."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from typing import Any

from django.db.models import Avg, F, Subquery, Value, Window
from django.db.models.functions import RowNumber

from shop import clock
from shop.calc.life import LifePosterior, Replacement, age_to_replace
from shop.concern import Grade
from shop.cutting.models import Blame, BookingSide, CostFigures, CuttingLimits, Life, Side, Stylus, StylusKind
from shop.cutting.queries.bookings import uncut_sides
from shop.cutting.queries.costing import cost_figures
from shop.cutting.queries.styli import AGE_NOT_KNOWN, Outlook, doubted_edges, limits, stylus_outlook
from shop.cutting.wording import chance_words

#: From how many of the latest edges and sides the prices of one are taken.
_LATEST = 20


# What a change costs --------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ChangeCosts:
    """What changing an edge in good time costs here, and what one that ends on a side does; in the room's currency.

    edge: a fresh edge, the mean of the latest of its kind; work: of the change; blank: the mean of the latest used;
    gas: of a side; spoiled: what a spoiled side costs besides. None where nobody has said.
    """

    edge: float | None
    work: float | None
    blank: float | None
    gas: float | None
    spoiled: float | None

    @property
    def planned(self) -> float:
        return (self.edge or 0.0) + (self.work or 0.0)

    @property
    def failure(self) -> float:
        """One that ends on a side: the change, and the side with its blank and gas."""
        return self.planned + (self.blank or 0.0) + (self.gas or 0.0) + (self.spoiled or 0.0)

    @property
    def is_enough(self) -> bool:
        """Whether there are figures enough to weigh the one against the other."""
        return self.planned > 0 and self.failure > self.planned


def change_costs(kind: StylusKind) -> ChangeCosts:
    """What the room knows of it for a kind of stylus: one query, three where none of that kind was fitted yet."""
    return change_costs_of([kind.pk])[kind.pk]


def change_costs_of(kind_ids: Iterable[int]) -> dict[int, ChangeCosts]:
    """The same of several kinds, by kind: as many queries."""
    kinds = sorted(set(kind_ids))
    if not kinds:
        return {}
    order = [F("began_at").desc(), F("id").desc()]
    figures = CostFigures.objects.filter(pk=1)
    lives: list[Any] = list(
        Life.objects.filter(stylus__kind__in=kinds)
        .select_related("stylus__lot", "relapped")
        .annotate(latest=Window(RowNumber(), partition_by=[F("stylus__kind")], order_by=order))
        .filter(latest__lte=_LATEST)
        # The same in each row: a query for each of them would be three more on every page that tells of an edge.
        .annotate(
            work=Subquery(figures.values("change_stylus")),
            gas=Subquery(figures.values("gas_side")),
            spoiled=Subquery(figures.values("spoiled_side")),
            blank=Subquery(_blank_price()),
        )
        .order_by(*order)
    )
    edges: dict[int, list[float]] = {pk: [] for pk in kinds}
    for life in lives:
        if (cost := life.cost) is not None:
            edges[life.stylus.kind_id].append(float(cost))
    if lives:
        rest = {name: _float(getattr(lives[0], name)) for name in ("work", "blank", "gas", "spoiled")}
    else:
        row, blank = cost_figures(), next(iter(_blank_price()), None)
        rest = {
            "work": _float(row.change_stylus),
            "blank": _float(blank["mean"] if blank else None),
            "gas": _float(row.gas_side),
            "spoiled": _float(row.spoiled_side),
        }
    return {pk: ChangeCosts(edge=sum(prices) / len(prices) if prices else None, **rest) for pk, prices in edges.items()}


def _blank_price() -> Any:
    """The mean price of the blanks of the latest sides, as `mean`; no row where no side was cut."""
    latest = Side.objects.order_by("-at", "-id").values("pk")[:_LATEST]
    cut = Side.objects.filter(pk__in=latest).order_by()
    return cut.annotate(every=Value(1)).values("every").annotate(mean=Avg("lot__unit_cost")).values("mean")


def _float(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)


@lru_cache(maxsize=64)
def _age_to_replace(posterior: LifePosterior, planned: float, failure: float) -> Replacement:
    """Kept, as the posterior is: it changes only when a side is cut or a price does."""
    return age_to_replace(posterior, planned, failure)


def replacement(posterior: LifePosterior, costs: ChangeCosts) -> Replacement | None:
    """The age at which changing costs least; None where too little is known of the costs."""
    if not costs.is_enough:
        return None
    return _age_to_replace(posterior, round(costs.planned, 4), round(costs.failure, 4))


# The advice -----------------------------------------------------------------------------------------------------------


class Matter(StrEnum):
    """What can speak against an edge. An overruling covers what the advice rested on when it was given."""

    NOISE = "noise"  # its last silent groove was above the shop's limit
    EDGE = "edge"  # a side was rejected for it, and nobody has looked
    JUMP = "jump"  # its silent groove grew noisier all at once
    LIFE = "life"  # the chance that it finishes
    TREND = "trend"  # its noise may cross the limit
    COST = "cost"  # the cheapest age to change


@dataclass(frozen=True)
class Against:
    """One thing that speaks against cutting on with an edge. place: how many of the sides come before that; grade: how
    much it weighs today."""

    matter: Matter
    grade: Grade
    place: int
    reason: str


@dataclass(frozen=True)
class Advice:
    """sentence: what to do; reasons: why, each a sentence. before: the booked side before which to change, if it is one
    of them; at: how many of the sides come before that. against: what speaks against cutting on with this edge through
    all the sides that were looked at."""

    sentence: str
    reasons: tuple[str, ...]
    before: BookingSide | None = None
    at: int | None = None
    against: tuple[Against, ...] = ()

    @property
    def is_against(self) -> bool:
        return bool(self.against)


def life_grade(chance: float, limits: CuttingLimits) -> Grade:
    """How much it weighs that an edge finishes only with that chance, by the shop's own limits."""
    if chance < limits.hold_below:
        return Grade.HOLD
    return Grade.CARE if chance < limits.care_below else Grade.NOTE


def doubt_grade(sides: Iterable[Side]) -> Grade | None:
    """How much it weighs that these sides speak against an edge: hold if one of them says that it is chipped."""
    said = [side.reject_reason.blame for side in sides if side.reject_reason is not None]
    if not said:
        return None
    return Grade.HOLD if Blame.EDGE in said else Grade.CARE


def advice(
    life: Life | None,
    outlook: Outlook,
    waiting: Iterable[BookingSide],
    limits: CuttingLimits,
    *,
    today: date,
    change: Replacement | None = None,
    doubt: Grade | None = None,
) -> Advice:
    """No query. waiting: the booked sides in the order of their days; the edge is taken to cut them all, one after the
    other. It is to be changed before the first side for which the chance of having finished them up to its end falls
    below the shop's own limit, before that in which its noise may first cross the shop's limit, or nearest to the age
    at which changing costs least, whichever comes first. doubt: how gravely a side speaks against it (`doubt_grade`).
    """
    sides = list(waiting)
    at_once = _at_once(life, doubt)
    over = any(one.matter == Matter.NOISE for one in at_once)
    found = [
        *at_once,
        *_by_chance(outlook, sides, limits, today),
        *([] if over else _by_noise(life, sides)),
        *_by_cost(outlook, sides, change),
    ]
    if not found:
        return _goes_on(outlook, sides, limits) if outlook.age_is_known else _cannot_say(outlook, sides)
    first = min(one.place for one in found)
    told = sorted(found, key=lambda one: one.place != first)  # stable: what comes first, then the rest as it is
    before = sides[first] if sides else None
    if first == 0:  # then "that side" is not the one that the sentence names
        told = [
            replace(one, reason=one.reason.replace("that side", _named(sides[one.place], one.place, today)))
            if one.place
            else one
            for one in told
        ]
    return Advice(
        at_once[0].sentence if at_once else _change_before(before, first, today),
        (*(one.reason for one in told), *(() if outlook.age_is_known else (AGE_NOT_KNOWN,))),
        before=before,
        at=first,
        against=tuple(told),
    )


def advice_on(stylus: Stylus, life: Life | None) -> Advice | None:
    """What to do about a stylus whose present life that is, None for a fresh edge; None where there is nothing to say:
    it is retired, or away. Six queries."""
    outlook = stylus_outlook(stylus, life)
    if outlook is None:
        return None
    return advice(
        life,
        outlook,
        uncut_sides(),
        limits(),
        today=clock.today(),
        change=replacement(outlook.posterior, change_costs(stylus.kind)),
        doubt=doubt_grade(doubted_edges([life.pk]).get(life.pk, [])) if life is not None else None,
    )


CHANGE_NEXT = "Change it before the next side."
LOOK_NEXT = "Look its edge over before the next side, and change it if it is not whole."


@dataclass(frozen=True)
class _AtOnce(Against):
    sentence: str = ""


def _at_once(life: Life | None, doubt: Grade | None) -> list[_AtOnce]:
    if life is None:
        return []
    found = []
    if life.noise_over:
        reason = "The last silent groove was noisier than the shop's own limit."
        found.append(_AtOnce(Matter.NOISE, Grade.CARE, 0, reason, CHANGE_NEXT))
    if doubt is not None:
        chipped = ", as chipped" if doubt == Grade.HOLD else ""
        reason = f"A side was rejected for it{chipped}, and nobody has looked the edge over since."
        found.append(_AtOnce(Matter.EDGE, doubt, 0, reason, LOOK_NEXT))
    if life.noise_jumped:
        reason = "Its silent groove grew noisier all at once."
        found.append(_AtOnce(Matter.JUMP, Grade.CARE, 0, reason, LOOK_NEXT))
    return found


def _by_chance(outlook: Outlook, sides: Sequence[BookingSide], limits: CuttingLimits, today: date) -> Iterator[Against]:
    """It weighs as much as it does for today's sides, and for the first of these, whenever that is booked."""
    cut_s = 0
    for place, side in enumerate(sides):
        cut_s += side.play_s
        chance = outlook.chance(cut_s)
        if chance < limits.care_below:
            least = chance_words(limits.care_below)
            said = chance_words(chance)
            said = f"just under {said}" if said == least else f"{outlook.at_most}{said}"
            through = "to its end" if place == 0 else "to the end of that side"
            due_s = sum(side.play_s for side in sides if side.booking.cut_on <= today)
            reason = f"The chance that it lasts {through} is {said}; the shop's own limit is {least}."
            weighs = min(outlook.chance(due_s), outlook.chance(sides[0].play_s))
            yield Against(Matter.LIFE, life_grade(weighs, limits), place, reason)
            return


def _by_noise(life: Life | None, sides: Sequence[BookingSide]) -> Iterator[Against]:
    if life is None or life.noise_soonest_s is None:
        return
    left_s = max(0, life.noise_soonest_s - life.cut_s)
    cut_s = 0
    for place, side in enumerate(sides):
        cut_s += side.play_s
        if cut_s > left_s:
            after = f"after about {left_s / 3600:.1f} h more of cutting" if left_s >= 180 else "now"
            reason = f"By its trend, its silent groove may cross the shop's noise limit {after}."
            yield Against(Matter.TREND, Grade.NOTE, place, reason)
            return


def _by_cost(outlook: Outlook, sides: Sequence[BookingSide], change: Replacement | None) -> Iterator[Against]:
    if change is None or change.hours is None:
        return
    hours = outlook.hours
    if not sides and hours >= change.hours:
        yield Against(Matter.COST, Grade.NOTE, 0, _cheapest(change.hours, outlook))
    for place, side in enumerate(sides):
        if hours + side.play_s / 7200 > change.hours:  # its middle lies past that age: the change is nearer before it
            yield Against(Matter.COST, Grade.NOTE, place, _cheapest(change.hours, outlook))
            return
        hours += side.play_s / 3600


def _cheapest(change_h: float, outlook: Outlook) -> str:
    return f"Changing costs least at about {change_h:.1f} h; it has cut {outlook.cut_words}."


def _goes_on(outlook: Outlook, sides: Sequence[BookingSide], limits: CuttingLimits) -> Advice:
    if not sides:
        return Advice(
            "Nothing is booked that it would have to cut.",
            (f"It will cut about {outlook.sure_h:.1f} h more at 80\u00a0% confidence.",),
        )
    cut_s = sum(side.play_s for side in sides)
    what, them = ("the side that is booked", "it") if len(sides) == 1 else (f"all {len(sides)} booked sides", "them")
    return Advice(
        f"Cut {what} with it.",
        (
            f"The chance that it finishes {them} is {chance_words(outlook.chance(cut_s))}; the shop's own limit is "
            f"{chance_words(limits.care_below)}.",
        ),
    )


def _cannot_say(outlook: Outlook, sides: Sequence[BookingSide]) -> Advice:
    """Nothing speaks against an edge of which nobody knows the age: that is no word for it."""
    if not sides:
        return Advice("Nothing is booked that it would have to cut.", (AGE_NOT_KNOWN,))
    it = "it" if len(sides) == 1 else "them"
    return Advice(
        "How long it will last cannot be said: go by the microscope and the silent groove.",
        (AGE_NOT_KNOWN, outlook.if_fresh(it, sum(side.play_s for side in sides))),
    )


def _change_before(side: BookingSide | None, place: int, today: date) -> str:
    return CHANGE_NEXT if side is None else f"Change it before {_named(side, place, today)}."


def _named(side: BookingSide, place: int, today: date) -> str:
    day = "" if side.booking.cut_on <= today else f" on {side.booking.cut_on.day} {side.booking.cut_on:%B}"
    name = f"side {side.label} of {side.booking.code}{day}"
    return f"the next side, {side.label} of {side.booking.code}" if place == 0 and not day else name
