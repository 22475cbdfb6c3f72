"""What there is: of each item, and of each size of blank. On hand is kept with each lot: the ledger is not summed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import (
    Case,
    Count,
    Exists,
    F,
    FilteredRelation,
    IntegerField,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Sum,
    Value,
    When,
)

from shop.prepared import prepared
from shop.recall import recalled
from shop.stock.claims import Claim, all_claims
from shop.stock.models import BlankSize, Inspection, Item, ItemKind, Lot
from shop.stock.queries.picking import in_date

#: So long a lot that came counts as fresh: one that nobody looked over by then is judged by how it cuts.
FRESH = timedelta(days=30)


@dataclass(frozen=True)
class Level:
    """What there is of an item, in its unit. usable: on hand that is neither held nor past its date.

    next_last_day: the nearest last day among the usable lots; lots: how many hold something.
    """

    on_hand: int = 0
    held: int = 0
    past_date: int = 0
    usable: int = 0
    next_last_day: date | None = None
    lots: int = 0


@recalled
def shelf() -> tuple[Item, ...]:
    """What is kept, lies on the shelf or is to come: each item for every lot of it that holds something, as `there`,
    with whether anybody looked it over, as `looked_over`; and that for every open line of an order, as `coming`; with
    the figures of its outlook, as `figure`. What there is none of is left out.

    One query for all that today's page wants to know; pages read what is made of it.
    """
    return tuple(_shelf())


@prepared
def _shelf() -> QuerySet[Item]:
    holding = FilteredRelation("lots", condition=Q(lots__on_hand__gt=0))
    to_come = FilteredRelation("order_lines", condition=Q(order_lines__is_open=True))
    looked_over = Exists(Inspection.objects.filter(lot=OuterRef("there__pk")))
    rows = Item.objects.annotate(there=holding, coming=to_come, looked_over=looked_over)
    rows = rows.filter(Q(is_active=True) | Q(there__isnull=False) | Q(coming__isnull=False))
    joined = rows.select_related(  # type: ignore[misc]  # relations made above
        "figure", "there__held_by", "there__supplier", "there__worse", "coming__order__supplier"
    )
    return joined.order_by("name", "there__id", "coming__id")


def items_on_shelf() -> list[Item]:
    """The items of `shelf`, each once, by name."""
    return list({item.pk: item for item in shelf()}.values())


def lots_on_shelf() -> list[Lot]:
    """The lots of `shelf` in the order they are taken from."""
    lots = {item.there.pk: item.there for item in shelf() if hasattr(item, "there")}.values()
    return sorted(lots, key=lambda lot: (lot.last_day is None, lot.last_day or date.max, lot.received_on, lot.pk))


def level_of(lots: Iterable[Lot], day: date) -> Level:
    """The level that these lots of one item make, as of `day`."""
    there = [lot for lot in lots if lot.on_hand > 0]
    free = [lot for lot in there if not lot.is_held]
    usable = [lot for lot in free if not lot.is_past_date(day)]
    return Level(
        on_hand=sum(lot.on_hand for lot in there),
        held=sum(lot.on_hand for lot in there if lot.is_held),
        past_date=sum(lot.on_hand for lot in free if lot.is_past_date(day)),
        usable=sum(lot.on_hand for lot in usable),
        next_last_day=min((lot.last_day for lot in usable if lot.last_day), default=None),
        lots=len(there),
    )


def levels_on_shelf(day: date) -> dict[int, Level]:
    """As `levels` of every item, from `shelf`."""
    lots: dict[int, list[Lot]] = {}
    for lot in lots_on_shelf():
        lots.setdefault(lot.item_id, []).append(lot)
    return {item: level_of(own, day) for item, own in lots.items()}


def levels(day: date, items: Iterable[Item] | None = None) -> dict[int, Level]:
    """The level of each item that has something on hand, by item id, as of `day`: one query."""
    lots = Lot.objects.filter(on_hand__gt=0)
    if items is not None:
        lots = lots.filter(item__in=[item.pk for item in items])
    free_of_hold = Q(held_at__isnull=True)
    rows = lots.values("item_id").annotate(
        total=Sum("on_hand"),
        held=_sum_where(~free_of_hold),
        past_date=_sum_where(free_of_hold & ~in_date(day)),
        usable=_sum_where(free_of_hold & in_date(day)),
        next_last_day=Min("last_day", filter=free_of_hold & in_date(day)),
        lots=Count("id"),
    )
    return {
        row["item_id"]: Level(
            on_hand=row["total"],
            held=row["held"],
            past_date=row["past_date"],
            usable=row["usable"],
            next_last_day=row["next_last_day"],
            lots=row["lots"],
        )
        for row in rows.order_by("item_id")
    }


def _sum_where(condition: Q) -> Sum:
    return Sum(Case(When(condition, then=F("on_hand")), default=Value(0), output_field=IntegerField()))


@dataclass(frozen=True)
class BlankStock:
    """Blanks of one size over all its items.

    on_hand = held + past_date + usable; claimed: what open bookings will take; free = usable - claimed, below zero if
    more is claimed than is there. minimum: the sum of the minimums of the size's items; items: their ids.
    """

    blank_in: int
    on_hand: int
    held: int
    past_date: int
    usable: int
    claimed: int
    minimum: int
    next_last_day: date | None
    items: tuple[int, ...] = ()
    claims: tuple[Claim, ...] = ()

    @property
    def is_kept(self) -> bool:
        """Whether the shop keeps this size, or something wants it."""
        return bool(self.items or self.claims)

    @property
    def short_by(self) -> int:
        """How many more are wanted by bookings than can be used."""
        return max(0, -self.free)

    @property
    def free(self) -> int:
        return self.usable - self.claimed

    @property
    def size(self) -> str:
        return BlankSize(self.blank_in).label

    @property
    def spoken_for(self) -> int:
        """What bookings will take and the minimum together: with fewer usable, fewer are free than the minimum."""
        return self.claimed + self.minimum

    @property
    def share(self) -> float:
        """How full it is drawn, 0 to 1."""
        return self.usable / full_at(self.spoken_for, self.usable)

    @property
    def mark(self) -> float | None:
        """Where what is spoken for is drawn, 0 to 1; None if nothing is."""
        return self.spoken_for / full_at(self.spoken_for, self.usable) if self.spoken_for else None

    @property
    def first_short(self) -> Claim | None:
        """The first claim, by day, that the usable blanks do not reach for; None if they reach for all."""
        left = self.usable
        for claim in self.claims:
            left -= claim.quantity
            if left < 0:
                return claim
        return None


def blank_stock(day: date) -> dict[int, BlankStock]:
    """What there is of every blank size as of `day`, by size in inches, largest first; one query and the claims."""
    kept = [item for item in items_on_shelf() if item.kind == ItemKind.BLANK]
    by_item = levels_on_shelf(day)
    claims = all_claims(day)
    found = {}
    for size in BlankSize.values:
        items = [item for item in kept if item.blank_in == size]
        there = [by_item[item.pk] for item in items if item.pk in by_item]
        own = tuple(claim for claim in claims if claim.blank_in == size)
        found[size] = BlankStock(
            blank_in=size,
            on_hand=sum(level.on_hand for level in there),
            held=sum(level.held for level in there),
            past_date=sum(level.past_date for level in there),
            usable=sum(level.usable for level in there),
            claimed=sum(claim.quantity for claim in own),
            minimum=sum(item.minimum for item in items if item.is_active),
            next_last_day=min((level.next_last_day for level in there if level.next_last_day), default=None),
            items=tuple(item.pk for item in items if item.is_active),
            claims=own,
        )
    return found


def lots_to_watch(day: date) -> list[Lot]:
    """Lots with something in them that are held, past their date on `day`, or within their item's days of warning."""
    return [
        lot
        for lot in lots_on_shelf()
        if lot.is_held or (lot.last_day and lot.last_day - timedelta(days=lot.item.warn_days) <= day)
    ]


def worse_lots() -> list[Lot]:
    """Lots with something in them that are clearly worse than their fellows (see `worse`) and not on hold."""
    return [lot for lot in lots_on_shelf() if hasattr(lot, "worse") and not lot.is_held]


def lots_to_look_over(day: date) -> list[Lot]:
    """Blanks that came on an order in the last FRESH days and that nobody looked over, usable as far as is known."""
    seen = [item for item in shelf() if hasattr(item, "there") and item.looked_over]  # type: ignore[attr-defined]
    looked_over = {item.there.pk for item in seen}
    return [
        lot
        for lot in lots_on_shelf()
        if lot.item.kind == ItemKind.BLANK
        and lot.pk not in looked_over
        and lot.order_line_id is not None
        and not lot.is_held
        and day - lot.received_on <= FRESH
    ]


def full_at(wanted: int, usable: int) -> int:
    """What a drawn level is full at: twice what is wanted of it, or what is there where that is more."""
    return max(2 * wanted, usable, 1)
