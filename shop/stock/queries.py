"""Reading stock, shaped for the pages. Nothing here sums the ledger: on hand is kept with each lot."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Case, Count, F, FilteredRelation, IntegerField, Min, Q, QuerySet, Sum, Value, When
from django.db.models.functions import Coalesce

from shop.recall import recalled
from shop.stock.claims import Claim, all_claims
from shop.stock.models import USE, BlankSize, Item, ItemKind, Lot, Movement, MovementKind, WeekUse

#: First expired, first out. Lots without a date come last; ties go to the older delivery, then to the one entered
#: first.
PICKING_ORDER = (F("last_day").asc(nulls_last=True), "received_on", "id")


def in_date(day: date) -> Q:
    """Lots usable by their date on `day`: through the last day of it, or without one."""
    return Q(last_day__isnull=True) | Q(last_day__gte=day)


def usable_lots(*, day: date, blank_in: int | None = None, item: Item | None = None) -> QuerySet[Lot]:
    """Lots that may be taken from on `day`, in the order to take them: something left, not on hold, not past its date.

    blank_in: only blanks of that size; item: only that item's.
    """
    lots = Lot.objects.filter(in_date(day), on_hand__gt=0, held_at__isnull=True)
    if blank_in is not None:
        lots = lots.filter(item__blank_in=blank_in)
    if item is not None:
        lots = lots.filter(item=item)
    return lots.select_related("item", "supplier").order_by(*PICKING_ORDER)


def first_lot(*, day: date, blank_in: int | None = None, item: Item | None = None) -> Lot | None:
    """The lot to take from next on `day`; None if there is none to take."""
    return usable_lots(day=day, blank_in=blank_in, item=item).first()


# What there is --------------------------------------------------------------------------------------------------------


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
    """What is kept or lies on the shelf: each item once for every lot of it that holds something, the lot as `there`.

    An item of which nothing is there comes once, without it. One query for all that today's page wants to know.
    """
    holding = FilteredRelation("lots", condition=Q(lots__on_hand__gt=0))
    rows = Item.objects.annotate(there=holding).filter(Q(is_active=True) | Q(there__isnull=False))
    joined = rows.select_related("there__held_by", "there__supplier")  # type: ignore[misc]  # a relation made above
    return tuple(joined.order_by("name", "there__id"))


def items_on_shelf() -> list[Item]:
    """The items of `shelf`, each once, by name."""
    return list({item.pk: item for item in shelf()}.values())


def lots_on_shelf() -> list[Lot]:
    """The lots of `shelf` in the order they are taken from."""
    lots = [item.there for item in shelf() if hasattr(item, "there")]
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


# Lists ----------------------------------------------------------------------------------------------------------------


def items() -> QuerySet[Item]:
    """Items in the order of the shelf: blanks from the largest, then styli, liquids, parts, each by name."""
    shelf = Case(*[When(kind=kind, then=Value(place)) for place, kind in enumerate(ItemKind.values)])
    return Item.objects.select_related("supplier").order_by(shelf, F("blank_in").desc(nulls_last=True), "name")


def lots_on_hand(item: Item) -> QuerySet[Lot]:
    """The item's lots with something in them, held and past ones too, in picking order."""
    return (
        Lot.objects.filter(item=item, on_hand__gt=0)
        .select_related("item", "supplier", "held_by")
        .order_by(*PICKING_ORDER)
    )


def full_at(wanted: int, usable: int) -> int:
    """What a drawn level is full at: twice what is wanted of it, or what is there where that is more."""
    return max(2 * wanted, usable, 1)


@dataclass(frozen=True)
class ItemLine:
    """An item and its level on `day`, as a list draws it."""

    item: Item
    level: Level
    day: date

    @property
    def share(self) -> float:
        """How full it is drawn, 0 to 1."""
        return self.level.usable / full_at(self.item.minimum, self.level.usable)

    @property
    def mark(self) -> float | None:
        """Where the minimum is drawn, 0 to 1; None if there is none."""
        return self.item.minimum / full_at(self.item.minimum, self.level.usable) if self.item.minimum else None

    @property
    def is_low(self) -> bool:
        return self.level.usable < self.item.minimum

    @property
    def days_left(self) -> int | None:
        """Days until the nearest last day of a usable lot."""
        return (self.level.next_last_day - self.day).days if self.level.next_last_day else None


@dataclass(frozen=True)
class LotLine:
    """A lot as it stands on `day`. is_next: it is the one to take from."""

    lot: Lot
    day: date
    is_next: bool = False

    @property
    def age_days(self) -> int:
        """Days since it was made or, where that is unknown, since it came in."""
        return (self.day - (self.lot.made_on or self.lot.received_on)).days

    @property
    def days_left(self) -> int | None:
        """Days it may be used after today: 0 on its last day, below zero past it; None without a date."""
        return None if self.lot.last_day is None else (self.lot.last_day - self.day).days

    @property
    def is_past(self) -> bool:
        return self.lot.is_past_date(self.day)

    @property
    def is_near(self) -> bool:
        return self.days_left is not None and 0 <= self.days_left <= self.lot.item.warn_days

    @property
    def life_left(self) -> float | None:
        """The share of its shelf life still to come, 0 to 1; None without a date."""
        if self.days_left is None:
            return None
        whole = self.days_left + self.age_days + 1
        return min(1.0, max(0.0, (self.days_left + 1) / whole)) if whole > 0 else 0.0


def lot_lines(item: Item, day: date) -> list[LotLine]:
    """The item's lots with something in them, in picking order, with the next to take marked."""
    lots = list(lots_on_hand(item))
    fit = [lot.pk for lot in lots if not lot.is_held and not lot.is_past_date(day)]
    return [LotLine(lot, day, is_next=lot.pk in fit[:1]) for lot in lots]


def empty_lots(item: Item) -> QuerySet[Lot]:
    """The item's lots with nothing left, latest delivery first."""
    return Lot.objects.filter(item=item, on_hand=0).select_related("item", "supplier").order_by("-received_on", "-id")


def movements() -> QuerySet[Movement]:
    """The ledger with all that a line shows, latest first by when it happened.

    What reversed a line is asked for the lines shown, not joined: where few lines were ever reversed, SQLite's
    statistics make it scan the whole ledger for each.
    """
    lines = Movement.objects.select_related("lot", "item", "by", "defect", "reverses")
    return lines.prefetch_related("reversed_by").order_by("-at", "-id")


def lot_movements(lot: Lot) -> QuerySet[Movement]:
    """The lot's ledger, latest first as it was written down, so that the balances run."""
    return movements().filter(lot=lot).order_by("-id")


def is_void(lot: Lot) -> bool:
    """Whether all that ever happened to the lot was undone, so that its code may be received afresh."""
    stands = Movement.objects.filter(lot=lot).exclude(kind=MovementKind.REVERSED).filter(reversed_by__isnull=True)
    return lot.on_hand == 0 and not stands.exists()


def lots_to_watch(day: date) -> list[Lot]:
    """Lots with something in them that are held, past their date on `day`, or within their item's days of warning."""
    return [
        lot
        for lot in lots_on_shelf()
        if lot.is_held or (lot.last_day and lot.last_day - timedelta(days=lot.item.warn_days) <= day)
    ]


# Checking -------------------------------------------------------------------------------------------------------------


def ledger_faults() -> list[str]:
    """Where the kept balances differ from the sums of the ledger, one sentence each. Reads the whole ledger."""
    found = []
    summed = Lot.objects.annotate(moved=Coalesce(Sum("movements__change"), 0)).exclude(moved=F("on_hand"))
    for lot in summed.select_related("item").order_by("id"):
        found.append(
            f"Lot {lot.code} ({lot.item}, id {lot.pk}): {lot.on_hand} on hand, but its movements add up to {lot.moved}."
        )
    running: dict[int, int] = {}
    lines = Movement.objects.order_by("id").values_list("id", "lot_id", "change", "balance", "item_id", "lot__item_id")
    for pk, lot_id, change, balance, item_id, lot_item_id in lines.iterator(chunk_size=5000):
        running[lot_id] = running.get(lot_id, 0) + change
        if running[lot_id] != balance:
            found.append(
                f"Movement {pk}: balance {balance}, but the lot's movements up to it add up to {running[lot_id]}."
            )
        if item_id != lot_item_id:
            found.append(f"Movement {pk}: filed under item {item_id}, but its lot is of item {lot_item_id}.")
    found += _week_faults()
    return found


def _week_faults() -> list[str]:
    """Where the weeks of an item add up to something else than what of it was used and not undone."""
    use = Movement.objects.filter(kind__in=USE, reversed_by__isnull=True).order_by()
    used = dict(use.values_list("item_id").annotate(Sum("change")))
    kept = dict(WeekUse.objects.order_by().values_list("item_id").annotate(Sum("quantity")))
    names = Item.objects.in_bulk(used.keys() | kept.keys())
    return [
        f"{names[item].name} (id {item}): its weeks add up to {kept.get(item, 0)}, its ledger to {-used.get(item, 0)}."
        for item in sorted(used.keys() | kept.keys())
        if kept.get(item, 0) != -used.get(item, 0)
    ]
