"""What to do about an edge, in one sentence with its reasons: by its life, its noise, and what a change costs here."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache

from shop import clock
from shop.calc.life import LifePosterior, Replacement, age_to_replace
from shop.cutting.models import BookingSide, CostFigures, CuttingLimits, Life, Side, Stylus, StylusKind
from shop.cutting.queries.bookings import uncut_sides
from shop.cutting.queries.costing import cost_figures
from shop.cutting.queries.styli import Outlook, doubted_edges, limits, stylus_outlook
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


def change_costs(kind: StylusKind, figures: CostFigures | None = None) -> ChangeCosts:
    """What the room knows of it for a kind of stylus: three queries, two if the room's figures are given."""
    figures = figures or cost_figures()
    lives = (
        Life.objects.filter(stylus__kind=kind).select_related("stylus__lot", "relapped").order_by("-began_at", "-id")
    )
    edges = [float(cost) for life in lives[:_LATEST] if (cost := life.cost) is not None]
    used = Side.objects.order_by("-at", "-id").values_list("lot__unit_cost", flat=True)[:_LATEST]
    blanks = [float(cost) for cost in used if cost is not None]
    return ChangeCosts(
        edge=sum(edges) / len(edges) if edges else None,
        work=_float(figures.change_stylus),
        blank=sum(blanks) / len(blanks) if blanks else None,
        gas=_float(figures.gas_side),
        spoiled=_float(figures.spoiled_side),
    )


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


@dataclass(frozen=True)
class Advice:
    """sentence: what to do; reasons: why, each a sentence. before: the booked side before which to change, if it is one
    of them; at: how many of the sides come before that. is_against: whether it speaks against cutting on with this edge
    through all the sides that were looked at."""

    sentence: str
    reasons: tuple[str, ...]
    before: BookingSide | None = None
    at: int | None = None
    is_against: bool = False


def advice(
    life: Life | None,
    outlook: Outlook,
    waiting: Iterable[BookingSide],
    limits: CuttingLimits,
    *,
    today: date,
    change: Replacement | None = None,
    is_doubted: bool = False,
) -> Advice:
    """No query. waiting: the booked sides in the order of their days; the edge is taken to cut them all, one after the
    other. It is to be changed before the first side for which the chance of having finished them up to its end falls
    below the shop's own limit, before that in which its noise may first cross the shop's limit, or nearest to the age
    at which changing costs least, whichever comes first.
    """
    sides = list(waiting)
    if told := _at_once(life, is_doubted):
        return Advice(told[0], tuple(told[1]), at=0, before=sides[0] if sides else None, is_against=True)
    found = [
        one
        for one in (_by_chance(outlook, sides, limits), _by_noise(life, sides), _by_cost(outlook, sides, change))
        if one is not None
    ]
    if not found:
        return _goes_on(outlook, sides, limits, change)
    first = min(place for place, _ in found)
    reasons = tuple(reason for place, reason in found if place == first)
    side = sides[first]
    others = [reason for place, reason in found if place != first]
    return Advice(
        f"Change it before {_named(side, first, today)}.", (*reasons, *others), before=side, at=first, is_against=True
    )


def advice_on(stylus: Stylus, life: Life | None) -> Advice | None:
    """What to do about a stylus whose present life that is, None for a fresh edge; None where there is nothing to say:
    it is retired, or away. Eight queries."""
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
        is_doubted=life is not None and bool(doubted_edges([life.pk])),
    )


def _at_once(life: Life | None, is_doubted: bool) -> tuple[str, list[str]] | None:
    if life is None:
        return None
    if life.noise_over:
        return "Change it before the next side.", ["The last silent groove was noisier than the shop's own limit."]
    if is_doubted:
        return "Look its edge over before the next side, and change it if it is not whole.", [
            "A side was rejected for it, and nobody has looked the edge over since."
        ]
    if life.noise_jumped:
        return "Look its edge over before the next side, and change it if it is not whole.", [
            "Its silent groove grew noisier all at once."
        ]
    return None


def _by_chance(outlook: Outlook, sides: Sequence[BookingSide], limits: CuttingLimits) -> tuple[int, str] | None:
    cut_s = 0
    for place, side in enumerate(sides):
        cut_s += side.play_s
        chance = outlook.chance(cut_s)
        if chance < limits.care_below:
            least = chance_words(limits.care_below)
            said = chance_words(chance)
            through = "to its end" if place == 0 else "to the end of that side"
            return place, (
                f"The chance that it lasts {through} is {f'just under {said}' if said == least else said}; "
                f"the shop's own limit is {least}."
            )
    return None


def _by_noise(life: Life | None, sides: Sequence[BookingSide]) -> tuple[int, str] | None:
    if life is None or life.noise_soonest_s is None:
        return None
    left_s = max(0, life.noise_soonest_s - life.cut_s)
    cut_s = 0
    for place, side in enumerate(sides):
        cut_s += side.play_s
        if cut_s > left_s:
            after = f"after about {left_s / 3600:.1f} h more of cutting" if left_s >= 180 else "now"
            return place, f"By its trend, its silent groove may cross the shop's noise limit {after}."
    return None


def _by_cost(outlook: Outlook, sides: Sequence[BookingSide], change: Replacement | None) -> tuple[int, str] | None:
    if change is None or change.hours is None:
        return None
    hours = outlook.hours
    for place, side in enumerate(sides):
        if hours + side.play_s / 7200 > change.hours:  # its middle lies past that age: the change is nearer before it
            return place, _cheapest(change.hours, outlook.hours)
        hours += side.play_s / 3600
    return None


def _cheapest(change_h: float, hours: float) -> str:
    return f"Changing costs least at about {change_h:.1f} h; it has cut {hours:.1f} h."


def _goes_on(
    outlook: Outlook, sides: Sequence[BookingSide], limits: CuttingLimits, change: Replacement | None
) -> Advice:
    if not sides:
        if change is not None and change.hours is not None and outlook.hours >= change.hours:
            past = _cheapest(change.hours, outlook.hours)
            return Advice("Change it before the next side.", (past,), at=0, is_against=True)
        return Advice(
            "Nothing is booked that it would have to cut.",
            (f"It will cut about {outlook.sure_h:.1f} h more at 80\u00a0% confidence.",),
        )
    cut_s = sum(side.play_s for side in sides)
    what = "the side that is booked" if len(sides) == 1 else f"all {len(sides)} booked sides"
    return Advice(
        f"Cut {what} with it.",
        (
            f"The chance that it finishes them is {chance_words(outlook.chance(cut_s))}; the shop's own limit is "
            f"{chance_words(limits.care_below)}.",
        ),
    )


def _named(side: BookingSide, place: int, today: date) -> str:
    day = "" if side.booking.cut_on <= today else f" on {side.booking.cut_on.day} {side.booking.cut_on:%B}"
    name = f"side {side.label} of {side.booking.code}{day}"
    return f"the next side, {side.label} of {side.booking.code}" if place == 0 and not day else name
