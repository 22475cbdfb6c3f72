"""What each item's outlook is reckoned from, read in as many queries whatever the items; and the outlook itself."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

from django.db.models import Min, OuterRef, Q, Subquery, Sum

from shop import clock
from shop.calc.demand import Booked, Coming, LeadTime, LotLeft, Outlook, Question, outlooks
from shop.stock.claims import Claim, all_claims
from shop.stock.models import STILL_TO_COME, Item, Lot, Movement, OrderLine, OrderState, PastUse, WeekUse
from shop.stock.queries.leads import LeadHistory, lead_histories, learned
from shop.stock.queries.picking import PICKING_ORDER

#: Weeks of past use that are looked at: ten years. What is older would weigh nothing.
MOST_WEEKS = 520
#: Weeks of past use by which the items of one blank size share what is booked of it.
SHARE_WEEKS = 52
#: How far an outlook looks, in weeks, where no lead time asks for more; and the furthest.
LOOK_WEEKS, FURTHEST_WEEKS = 26, 104


@dataclass(frozen=True)
class Due:
    """What a booking will take of an item. quantity: the item's share of what is claimed of its size."""

    claim: Claim
    quantity: int


@dataclass(frozen=True)
class Arrival:
    """What is still to come of an open order, in the item's unit. lead: from the day it was sent, as for its supplier,
    moved by as many days as the supplier has moved its date since."""

    line: OrderLine
    quantity: int
    lead: LeadTime
    sent_on: date
    moved_days: int = 0

    def likely_on(self, day: date, chance: float = 0.5) -> date:
        """The day by which it will have come with that chance, as seen on `day`."""
        sent_ago = max(0, (day - self.sent_on).days)
        return day + timedelta(days=self.lead.waited(sent_ago).quantile(chance))


@dataclass(frozen=True)
class Basis:
    """What an item's outlook rests on, as of `day`; quantities in its unit.

    counts: use per whole week, oldest first, from the Monday first_week to the last Sunday; this_week: used since;
    past_until: the last week, by its Monday, of which a file of past use told, None if none did.
    lots: the usable ones, in picking order; held, past_date: on hand, but not usable. due: what bookings will take;
    share: of what is booked of its size, 0 to 1, fellows: other items of that size. lead: of a new order; drafts: order
    lines that were written but not sent.
    """

    item: Item
    day: date
    counts: tuple[int, ...]
    first_week: date | None
    this_week: int
    past_until: date | None
    lots: tuple[Lot, ...]
    held: int
    past_date: int
    due: tuple[Due, ...]
    share: float
    fellows: int
    lead: LeadTime
    arrivals: tuple[Arrival, ...]
    drafts: tuple[OrderLine, ...] = ()

    @property
    def usable(self) -> int:
        return sum(lot.on_hand for lot in self.lots)

    @property
    def on_order(self) -> int:
        return sum(arrival.quantity for arrival in self.arrivals)

    @property
    def booked(self) -> int:
        return sum(due.quantity for due in self.due)

    @property
    def can_tell(self) -> bool:
        """Whether there is anything to go by: a week of past use, or a stated expectation."""
        return bool(self.counts) or self.item.expected_weekly is not None

    def question(self) -> Question:
        """What shop.calc is asked. ValueError if nothing is there to go by."""
        item = self.item
        return Question(
            counts=self.counts,
            lead=self.lead,
            lots=tuple(
                LotLeft(lot.on_hand, None if lot.last_day is None else (lot.last_day - self.day).days)
                for lot in self.lots
            ),
            booked=tuple(Booked((due.claim.day - self.day).days, due.quantity) for due in self.due),
            coming=tuple(
                Coming(arrival.quantity, arrival.lead, max(0, (self.day - arrival.sent_on).days))
                for arrival in self.arrivals
            ),
            service=item.service_level,
            cover_days=7 * item.cover_weeks,
            pack=item.pack_size,
            minimum=item.minimum_order,
            shelf_days=item.shelf_days,
            room=item.shelf_room,
            expected_per_week=item.expected_weekly,
            weeks=look_weeks(self.lead, item.cover_weeks),
        )


def look_weeks(lead: LeadTime, cover_weeks: int) -> int:
    """How far to look: half a year, or past a late arrival of an order placed today and what it is to last."""
    return min(FURTHEST_WEEKS, max(LOOK_WEEKS, -(-lead.quantile(0.95) // 7) + cover_weeks))


@dataclass(frozen=True)
class Present:
    """What there is and what is known to come, as of `day`: items kept, and by item id their lots that hold something
    and their order lines that are open or drafts. Items come with `began_at`, when the ledger first knew of them, and
    with what was used of them in all, `used` by the ledger and `past_used` by files."""

    day: date
    items: tuple[Item, ...]
    lots: Mapping[int, list[Lot]]
    lines: Mapping[int, list[OrderLine]]
    claims: tuple[Claim, ...]

    @property
    def monday(self) -> date:
        """The first day of the present week."""
        return self.day - timedelta(days=self.day.weekday())

    def suppliers_of(self, item: Item) -> set[int]:
        """Whose lead times count for an item, by id: its usual supplier's, and those of what is on order of it."""
        found = {line.order.supplier_id for line in self.lines.get(item.pk, ()) if not line.order.is_draft}
        return found if item.supplier_id is None else found | {item.supplier_id}

    @cached_property
    def histories(self) -> dict[int, LeadHistory]:
        """How long the orders of all those suppliers took, by its id: one query, if there are any."""
        asked = {pk for item in self.items for pk in self.suppliers_of(item)}
        return lead_histories(asked, self.day) if asked else {}

    def held(self, item: int) -> int:
        """What of an item is on hold."""
        return sum(lot.on_hand for lot in self.lots.get(item, ()) if lot.is_held)


def present(day: date, only: int | None = None) -> Present:
    """What the outlook of every kept item begins with, as of `day`: three queries and the claims.

    only: the id of the one item that is asked about; it comes with all others of its size, which share its bookings.
    """
    began = Movement.objects.filter(item=OuterRef("pk")).order_by("at", "id").values("at")[:1]
    items = Item.objects.filter(is_active=True).select_related("supplier", "figure")
    items = items.annotate(began_at=Subquery(began), used=_sum_of(WeekUse), past_used=_sum_of(PastUse))
    if only is not None:
        size = Item.objects.filter(pk=only, blank_in__isnull=False).values("blank_in")
        items = items.filter(Q(pk=only) | Q(blank_in__in=size))
    kept = tuple(items.order_by("name"))
    lots: dict[int, list[Lot]] = defaultdict(list)
    for lot in Lot.objects.filter(item__in=kept, on_hand__gt=0).order_by(*PICKING_ORDER):
        lots[lot.item_id].append(lot)
    lines: dict[int, list[OrderLine]] = defaultdict(list)
    open_or_draft = STILL_TO_COME | Q(order__state=OrderState.DRAFT)
    for line in OrderLine.objects.filter(open_or_draft, item__in=kept).select_related("order__supplier"):
        lines[line.item_id].append(line)
    return Present(day, kept, lots, lines, tuple(all_claims(day)))


def _sum_of(model: type[WeekUse] | type[PastUse]) -> Subquery:
    """What was used of an item in all."""
    own = model._default_manager.filter(item=OuterRef("pk")).order_by()
    return Subquery(own.values("item").annotate(total=Sum("quantity")).values("total"))


def bases(here: Present, only: Collection[int] | None = None) -> list[Basis]:
    """What the outlook of each item rests on, by name; `only`: of those with these ids. Three more queries."""
    weeks, past = _weeks(here)
    asked = [item for item in here.items if only is None or item.pk in only]
    leads = _leads(asked, here)
    shares = _shares(here, weeks)
    due = _due(here, shares)
    return [
        _basis(item, here, weeks[item.pk], past.get(item.pk), leads, due.get(item.pk, ()), shares[item.pk])
        for item in asked
    ]


def _basis(
    item: Item,
    here: Present,
    weeks: Mapping[date, int],
    past: tuple[date, date] | None,
    leads: Mapping[int | None, LeadTime],
    due: tuple[Due, ...],
    share: tuple[float, int],
) -> Basis:
    first = _first_week(item, past, here.monday)
    there = here.lots.get(item.pk, [])
    lines = here.lines.get(item.pk, [])
    return Basis(
        item=item,
        day=here.day,
        counts=_counts(weeks, first, here.monday),
        first_week=first,
        this_week=weeks.get(here.monday, 0),
        past_until=past[1] if past else None,
        lots=tuple(lot for lot in there if not lot.is_held and not lot.is_past_date(here.day)),
        held=here.held(item.pk),
        past_date=sum(lot.on_hand for lot in there if not lot.is_held and lot.is_past_date(here.day)),
        due=due,
        share=share[0],
        fellows=share[1],
        lead=leads[item.supplier_id],
        arrivals=tuple(_arrival(line, leads) for line in lines if not line.order.is_draft),
        drafts=tuple(line for line in lines if line.order.is_draft),
    )


# Past use -------------------------------------------------------------------------------------------------------------


def _weeks(here: Present) -> tuple[dict[int, dict[date, int]], dict[int, tuple[date, date]]]:
    """Use by item id and week, the ledger's and what files told of the time before it; and of the files the first day
    and the last week (its Monday). A query each, where there is any."""
    since = here.monday - timedelta(weeks=MOST_WEEKS)
    weeks: dict[int, dict[date, int]] = defaultdict(dict)
    used = [item for item in here.items if item.used is not None]  # type: ignore[attr-defined]  # see `present`
    told_of = [item for item in here.items if item.past_used is not None]  # type: ignore[attr-defined]
    known = WeekUse.objects.filter(item__in=used, monday__gte=since).order_by()
    for pk, monday, quantity in known.values_list("item_id", "monday", "quantity"):
        weeks[pk][monday] = quantity
    past: dict[int, tuple[date, date]] = {}
    told = PastUse.objects.filter(item__in=told_of, monday__gte=since).order_by("monday")
    by_week = told.values_list("item_id", "monday").annotate(Sum("quantity"), Min("day"))
    for pk, monday, quantity, first in by_week:
        weeks[pk][monday] = weeks[pk].get(monday, 0) + quantity
        past[pk] = (past[pk][0] if pk in past else first, monday)
    return weeks, past


def _first_week(item: Item, past: tuple[date, date] | None, monday: date) -> date | None:
    """The Monday of the first week that is known whole, before `monday`; None if there is none.

    The week in which a file of past use, or else the ledger, begins on another day than Monday is left out: the part of
    it before that is not known to be without use.
    """
    began_at = item.began_at  # type: ignore[attr-defined]  # annotated by `present`
    known = [day for day in (past and past[0], began_at and clock.day_of(began_at)) if day]
    if not known:
        return None
    first = min(known) + timedelta(days=-min(known).weekday() % 7)
    return max(first, monday - timedelta(weeks=MOST_WEEKS)) if first < monday else None


def _counts(weeks: Mapping[date, int], first: date | None, monday: date) -> tuple[int, ...]:
    """Use in each week from `first` up to the one before `monday`, the present one, of which the end is not known."""
    if first is None:
        return ()
    return tuple(weeks.get(first + timedelta(weeks=n), 0) for n in range((monday - first).days // 7))


# What is booked -------------------------------------------------------------------------------------------------------


def _shares(here: Present, weeks: Mapping[int, Mapping[date, int]]) -> dict[int, tuple[float, int]]:
    """By item id: the share it takes of what is booked of its size, and how many other items that size has.

    By use in the last SHARE_WEEKS whole weeks; where there was none, by what is on hand; else in equal parts.
    """
    sizes: dict[int | None, list[int]] = defaultdict(list)
    for item in here.items:
        sizes[item.blank_in].append(item.pk)
    since = here.monday - timedelta(weeks=SHARE_WEEKS)
    found: dict[int, tuple[float, int]] = dict.fromkeys(sizes.pop(None, []), (0.0, 0))
    for fellows in sizes.values():
        used = {pk: sum(n for week, n in weeks.get(pk, {}).items() if since <= week < here.monday) for pk in fellows}
        there = {pk: sum(lot.on_hand for lot in here.lots.get(pk, ())) for pk in fellows}
        by = used if any(used.values()) else there if any(there.values()) else dict.fromkeys(fellows, 1)
        found |= {pk: (part / sum(by.values()), len(fellows) - 1) for pk, part in by.items()}
    return found


def _due(here: Present, shares: Mapping[int, tuple[float, int]]) -> dict[int, tuple[Due, ...]]:
    """What bookings take of each item, by item id: each claim on a size in whole blanks, so that at every day what was
    given to an item is its share of what was claimed by then, to within one."""
    sizes: dict[int, list[int]] = defaultdict(list)
    for item in here.items:
        if item.blank_in is not None:
            sizes[item.blank_in].append(item.pk)
    given: dict[int, int] = defaultdict(int)
    claimed: dict[int, int] = defaultdict(int)
    found: dict[int, list[Due]] = defaultdict(list)
    for claim in here.claims:
        fellows, size = sizes.get(claim.blank_in, []), claim.blank_in
        parts: dict[int, int] = defaultdict(int)
        for _ in range(claim.quantity if fellows else 0):
            claimed[size] += 1
            _, most_owed = max((shares[pk][0] * claimed[size] - given[pk], pk) for pk in fellows)
            given[most_owed] += 1
            parts[most_owed] += 1
        for pk, quantity in parts.items():
            found[pk].append(Due(claim, quantity))
    return {pk: tuple(due) for pk, due in found.items()}


# What comes -----------------------------------------------------------------------------------------------------------


def _leads(items: Iterable[Item], here: Present) -> dict[int | None, LeadTime]:
    """The lead time learned of each supplier of these items and of what is on order of them, by its id; under None that
    of an unknown one. One query, unless they were asked for before."""
    theirs = {item.supplier for item in items if item.supplier is not None}
    theirs |= {line.order.supplier for item in items for line in here.lines.get(item.pk, ()) if not line.order.is_draft}
    promised = {supplier.pk: supplier.lead_days for supplier in theirs}
    return {None: learned(LeadHistory(), None)} | {
        pk: learned(here.histories[pk], promise) for pk, promise in promised.items()
    }


def _arrival(line: OrderLine, leads: Mapping[int | None, LeadTime]) -> Arrival:
    """What is still to come on a line. A date that the supplier has moved since moves the whole learned lead time."""
    order = line.order
    assert order.sent_on is not None
    moved = (order.expected_on - order.promised_on).days if order.expected_on and order.promised_on else 0
    lead = moved_by(leads[order.supplier_id], moved)
    return Arrival(line, line.open_quantity, lead, order.sent_on, moved)


def moved_by(lead: LeadTime, days: int) -> LeadTime:
    """The lead time so many days later, or earlier below zero; what would lie before the sending is on that day."""
    if days >= 0:
        return replace(lead, chances=(0.0,) * days + lead.chances)
    early, rest = lead.chances[:-days], lead.chances[-days:] or (0.0,)
    return replace(lead, chances=(sum(early) + rest[0], *rest[1:]))


# The outlook ----------------------------------------------------------------------------------------------------------


def outlook_of(found: Sequence[Basis]) -> list[Outlook | None]:
    """The outlook on each basis, in order; None where there is nothing to go by."""
    asked = [basis for basis in found if basis.can_tell]
    answers = iter(outlooks([basis.question() for basis in asked]))
    return [next(answers) if basis.can_tell else None for basis in found]
