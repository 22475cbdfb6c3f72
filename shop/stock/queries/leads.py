"""How long suppliers took: their orders' days from sent to come, and the lead time learned from them."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Max, OuterRef, Subquery

from shop import clock
from shop.calc.demand import LeadTime, lead_time
from shop.stock.models import UNDER_WAY, Order, OrderState, OrderStep, StepKind, Supplier

#: Of a supplier's orders so many are looked at, the latest. What is older would change little.
MOST_ORDERS = 100
#: A longer time than this (days) is taken as this long, here and by the calculation.
_LONGEST = 730


@dataclass(frozen=True)
class Took:
    """How long one order took. days: from the day it was sent until all of it had come; where it has not, so far.

    Of an order closed short the last that came counts as all of it. came: whether it had come; if nothing ever did, it
    waited until it was closed.
    """

    order: Order
    days: int
    came: bool


@dataclass(frozen=True)
class LeadHistory:
    """A supplier's orders that were sent, latest first, and how long each took."""

    took: tuple[Took, ...] = ()

    @property
    def arrived(self) -> list[int]:
        return [one.days for one in self.took if one.came]

    @property
    def still_open(self) -> list[int]:
        """Days so far of those that have not come, and of those given up before anything had."""
        return [one.days for one in self.took if not one.came]

    @property
    def facts(self) -> tuple[list[int], list[int]]:
        """All that a lead time is learned from."""
        return self.arrived, self.still_open


def lead_histories(suppliers: Collection[int], day: date) -> dict[int, LeadHistory]:
    """How long the orders of each of these suppliers took, by its id, as of `day`: one query."""
    closed = OrderStep.objects.filter(order=OuterRef("pk"), kind=StepKind.CLOSED).order_by("-id").values("at")[:1]
    orders = (
        Order.objects.filter(supplier__in=suppliers, sent_on__isnull=False, sent_on__lte=day)
        .annotate(last_on=Max("lines__last_on"), closed_at=Subquery(closed))
        .order_by("-sent_on", "-id")
    )
    found: dict[int, list[Took]] = {pk: [] for pk in suppliers}
    for order in orders:
        own = found[order.supplier_id]
        if len(own) < MOST_ORDERS:
            own.append(_took(order, day))
    return {pk: LeadHistory(tuple(own)) for pk, own in found.items()}


def _took(order: Order, day: date) -> Took:
    sent, last = order.sent_on, order.last_on  # type: ignore[attr-defined]  # annotated
    assert sent is not None
    if order.state in UNDER_WAY:
        until, came = day, False
    elif order.state == OrderState.RECEIVED or last is not None:
        until, came = order.received_on or last, True
    else:
        closed_at = order.closed_at  # type: ignore[attr-defined]  # annotated
        until, came = (clock.day_of(closed_at) if closed_at else day), False
    return Took(order, min(_LONGEST, max(0, (until - sent).days)), came)


def lead_times(suppliers: Collection[int], day: date) -> dict[int | None, LeadTime]:
    """The lead time learned of each of these suppliers, by its id, as of `day`; under None that of an unknown one."""
    promised = dict(Supplier.objects.filter(pk__in=suppliers).values_list("pk", "lead_days"))
    found: dict[int | None, LeadTime] = {None: lead_time([])}
    for pk, history in lead_histories(suppliers, day).items():
        found[pk] = learned(history, promised.get(pk))
    return found


def learned(history: LeadHistory, promised_days: int | None) -> LeadTime:
    """The lead time that a supplier's orders and its promise make."""
    promise = None if promised_days is None else min(_LONGEST, promised_days)
    return lead_time(history.arrived, still_open=history.still_open, promised_days=promise)


#: What filled the gap, by LeadTime.basis.
BASIS_WORDS: Mapping[str, str] = {
    "orders": "There are enough of them that they speak for themselves.",
    "orders_and_promise": "They are few, so the supplier's promise still counts with them.",
    "promise": "None was sent to this supplier yet, so its promise stands in, taken as roughly right.",
    "orders_and_guess": "They are few and no lead time is promised, so a guess of about three weeks counts with them.",
    "guess": "None was sent to this supplier yet and it promises nothing: this is a guess of about three weeks.",
}


@dataclass(frozen=True)
class LeadWords:
    """A learned lead time for a page. middle: half of the orders are there within so many days; low, high: nine of ten
    take from and to so many; basis: what filled the gap, and what counts for little. came, waiting: the orders it rests
    on."""

    middle: int
    low: int
    high: int
    came: int
    waiting: int
    basis: str


def lead_words(lead: LeadTime) -> LeadWords:
    low, middle, high = (lead.quantile(q) for q in (0.05, 0.5, 0.95))
    told = BASIS_WORDS.get(lead.basis, "")
    if lead.odd_words:
        told += f" {lead.odd_words}."
    return LeadWords(middle, low, high, lead.orders, lead.open_orders, told)
