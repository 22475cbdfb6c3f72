"""What is asked about an item's stock, and what is answered. All records; the work is done in outlook."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shop.calc.bounds import chance, number, whole
from shop.calc.demand.leadtime import LeadTime
from shop.calc.demand.methods import MOST_COUNT, Forecast
from shop.calc.demand.pick import Picked


@dataclass(frozen=True)
class LotLeft:
    """Usable stock of one lot. days_left: 0 if today is its last usable day, None if it doesn't age."""

    quantity: int
    days_left: int | None = None

    def __post_init__(self) -> None:
        whole("quantity", self.quantity, at_least=0, at_most=MOST_COUNT)
        if self.days_left is not None:
            whole("days_left", self.days_left, at_least=0, at_most=100_000)


@dataclass(frozen=True)
class Booked:
    """Stock that a booking will take in so many days; one overdue (below 0) is taken today."""

    in_days: int
    quantity: int

    def __post_init__(self) -> None:
        whole("in_days", self.in_days, at_least=-100_000, at_most=100_000)
        whole("quantity", self.quantity, at_least=0, at_most=MOST_COUNT)


@dataclass(frozen=True)
class Coming:
    """What is still to come of an order; sent_days_ago below 0 is one to be sent in so many days."""

    quantity: int
    lead: LeadTime
    sent_days_ago: int

    def __post_init__(self) -> None:
        whole("quantity", self.quantity, at_least=0, at_most=MOST_COUNT)
        whole("sent_days_ago", self.sent_days_ago, at_least=-1000, at_most=100_000)
        if not isinstance(self.lead, LeadTime):
            raise ValueError("lead must be a LeadTime.")


@dataclass(frozen=True, kw_only=True)
class Question:
    """All that an item's outlook is worked out from. Quantities are whole numbers of the item's unit.

    lead               of a new order
    counts             use per week, oldest first, weeks with none included; the last week ended yesterday
    lots               usable stock; held and aged lots left out
    booked, coming     see Booked and Coming
    service            chance of no stock-out in an order cycle, above 0 and below 1
    cover_days         how long an order should last beyond the safety that the reorder point keeps
    review_days        how often the room looks whether to order; 0 as if each order were sent just when it is due
    pack, minimum      orders are multiples of a pack and not below the minimum
    shelf_days         of a new lot, from its arrival; None if it doesn't age
    used_chance        the chance, at least, with which all of an order should be used before it ages
    room               the most that the shelf holds; None if there is no limit
    expected_per_week, expected_weeks   what the room expects to use, and what that weighs in weeks of data
    booked_in_counts   the counts hold all use, that of bookings too (see coming). False: only what was never booked
    weeks              how far to look
    forecast           taken instead of one picked from counts, for a what-if
    """

    lead: LeadTime
    counts: Sequence[float] = ()
    lots: tuple[LotLeft, ...] = ()
    booked: tuple[Booked, ...] = ()
    coming: tuple[Coming, ...] = ()
    service: float = 0.95
    cover_days: int = 56
    review_days: int = 1
    pack: int = 1
    minimum: int = 0
    shelf_days: int | None = None
    used_chance: float = 0.8
    room: int | None = None
    expected_per_week: float | None = None
    expected_weeks: float = 4.0
    booked_in_counts: bool = True
    weeks: int = 26
    forecast: Forecast | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.lead, LeadTime):
            raise ValueError("lead must be a LeadTime.")
        for name, of_kind in (("lots", LotLeft), ("booked", Booked), ("coming", Coming)):
            if not all(isinstance(each, of_kind) for each in getattr(self, name)):
                raise ValueError(f"{name} must hold {of_kind.__name__} only.")
        chance("service", self.service)
        chance("used_chance", self.used_chance)
        whole("cover_days", self.cover_days, at_least=0, at_most=365)
        whole("review_days", self.review_days, at_least=0, at_most=92)
        whole("pack", self.pack, at_least=1, at_most=MOST_COUNT)
        whole("minimum", self.minimum, at_least=0, at_most=MOST_COUNT)
        if self.shelf_days is not None:
            whole("shelf_days", self.shelf_days, at_least=0, at_most=100_000)
        if self.room is not None:
            whole("room", self.room, at_least=0, at_most=MOST_COUNT)
        if self.expected_per_week is not None:
            number("expected_per_week", self.expected_per_week, at_least=0, at_most=MOST_COUNT)
        elif self.forecast is None and not len(self.counts):
            raise ValueError("expected_per_week must be given where counts is empty, at least 0.")
        if not (self.forecast is None or isinstance(self.forecast, Forecast)):
            raise ValueError("forecast must be a Forecast, or None.")
        number("expected_weeks", self.expected_weeks, at_least=0.1, at_most=1000)
        whole("weeks", self.weeks, at_least=4, at_most=104)
        whole("position", self.position, at_least=0, at_most=100 * MOST_COUNT)

    @property
    def on_hand(self) -> int:
        return sum(each.quantity for each in self.lots)

    @property
    def position(self) -> int:
        """Usable stock and what is on order."""
        return self.on_hand + sum(each.quantity for each in self.coming)


@dataclass(frozen=True)
class Fan:
    """What is left with a chance of 5, 25, 50, 75, 95 % of there being no more."""

    p5: int
    p25: int
    p50: int
    p75: int
    p95: int


@dataclass(frozen=True)
class Week:
    """One week to come; number 1 is days 0 to 6.

    booked, expected   demand that is booked, and expected in all
    arriving           expected to come from open orders
    stock              usable at its end
    chance_out_by      that by its end some demand could not be met at once
    chance_short       that demand is waiting at its end (less than the former once an order has come)
    aged               expected loss to age
    """

    number: int
    booked: int
    expected: float
    arriving: float
    stock: Fan
    chance_out_by: float
    chance_short: float
    aged: float


@dataclass(frozen=True)
class LotLoss:
    """What of a lot (its place in Question.lots) is expected to age before it is used, within the look."""

    lot: int
    quantity: int
    expected: float


@dataclass(frozen=True)
class LeadDemand:
    """Demand over the lead time of an order sent today; booked is its expected booked part."""

    mean: float
    sd: float
    booked: float


@dataclass(frozen=True)
class Suggestion:
    """What to order on the order-by day.

    wanted         before packs, minimum and caps
    cap            what held it down: "age" (all of it should be used before it ages), "room" (the shelf)
    over_cap       the smallest possible order is so much more than the cap; 0 mostly
    expected_aged  what of this order is expected to age
    lasts_days     days from today by which all there is will be used up, as expected; None: beyond three years
    """

    quantity: int
    wanted: int
    cap: Literal["none", "age", "room"]
    over_cap: int
    expected_aged: float
    lasts_days: int | None


@dataclass(frozen=True)
class Outlook:
    """What lies ahead of an item.

    reorder_point   order when stock and what is on order fall to this or below: then nothing is short when the order
                    comes with chance `chance_met`, at least the service asked for (see outlook)
    order_by_days   last day to order so that, when the order comes, nothing is short with the service's chance; 0 also
                    if it is late; None if no order is due within the look. Unlike the reorder point it knows what ages
                    and when open orders come.
    service_today   chance that nothing is short when it comes, if ordered today: what an open order makes good until
                    then does not count
    out_before_it_comes   chance that some demand could not be met at once, from today until an order sent today comes;
                    what is asked for today counts in any case
    suggestion      for that day; nothing if none is due
    weeks           as far as asked
    losses          for each lot in Question.lots
    picked, lead    what the forecast and the lead time rest on
    grain           1: worked in whole numbers; else in steps of so many units, and the figures are good to one step
    """

    position: int
    service: float
    lead_demand: LeadDemand
    reorder_point: int
    chance_met: float
    order_by_days: int | None
    service_today: float
    out_before_it_comes: float
    suggestion: Suggestion
    weeks: tuple[Week, ...]
    losses: tuple[LotLoss, ...]
    picked: Picked
    lead: LeadTime
    grain: int

    @property
    def expected_aged(self) -> float:
        """Expected loss to age of what is there now."""
        return sum(each.expected for each in self.losses)

    @property
    def late(self) -> bool:
        """An order sent today already comes with less than the service asked for."""
        return self.order_by_days == 0 and self.service_today < self.service

    @property
    def short_before_it_comes(self) -> bool:
        """Open orders will do, yet stock may run out before they come, more likely than the service allows."""
        under_way = any(week.arriving > 0 for week in self.weeks)
        return under_way and self.order_by_days != 0 and self.out_before_it_comes > 1 - self.service
