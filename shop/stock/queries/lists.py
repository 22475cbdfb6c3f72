"""Items, lots and movements as the pages list them."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Case, F, Prefetch, QuerySet, Value, When

from shop.calc.lots import inspect
from shop.stock.models import (
    Inspection,
    InspectionDefect,
    Item,
    ItemKind,
    Lot,
    Movement,
    MovementKind,
    Outcome,
    StockUnit,
)
from shop.stock.queries.levels import Level, full_at
from shop.stock.queries.picking import PICKING_ORDER
from shop.stock.queries.reorders import OrderDay


def items() -> QuerySet[Item]:
    """Items in the order of the shelf: blanks from the largest, then styli, liquids, parts, each by name."""
    shelf = Case(*[When(kind=kind, then=Value(place)) for place, kind in enumerate(ItemKind.values)])
    return Item.objects.select_related("supplier").order_by(shelf, F("blank_in").desc(nulls_last=True), "name")


def lots() -> QuerySet[Lot]:
    """All lots, latest delivery first."""
    return Lot.objects.select_related("item", "supplier").order_by("-received_on", "-id")


def came_with(lot: Lot) -> QuerySet[Lot]:
    """The lots of the delivery that `lot` came with, itself too: of one supplier on one day."""
    return lots().filter(supplier=lot.supplier_id, received_on=lot.received_on)


def lots_on_hand(item: Item) -> QuerySet[Lot]:
    """The item's lots with something in them, held and past ones too, in picking order."""
    return (
        Lot.objects.filter(item=item, on_hand__gt=0)
        .select_related("item", "supplier", "held_by")
        .order_by(*PICKING_ORDER)
    )


@dataclass(frozen=True)
class ItemLine:
    """An item and its level on `day`, as a list draws it. due: when it is to be ordered, None if that is not known."""

    item: Item
    level: Level
    day: date
    due: OrderDay | None = None

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


def inspections(lot: Lot) -> QuerySet[Inspection]:
    """How the lot was looked over, latest first, with what was found and whether that was written off."""
    found = Prefetch("found", InspectionDefect.objects.select_related("defect", "movement__reversed_by"))
    return Inspection.objects.filter(lot=lot).select_related("by", "lot__item").prefetch_related(found)


@dataclass(frozen=True)
class Sample:
    """What a look over some of a lot says of the rest. rest: how many were not looked at; most_left: with 95 %
    confidence no more of these are faulty, if those looked at came from all over the lot."""

    rest: int
    most_left: int


def sample_of(look: Inspection) -> Sample | None:
    """That of one of `inspections`; None for what is measured, went back as a whole, or was looked at to the last;
    and where so few were looked at that all of the rest may be faulty, which says nothing."""
    if look.outcome == Outcome.RETURN or look.lot.item.unit != StockUnit.EACH:
        return None
    written_off = [found.movement for found in look.found.all() if found.movement is not None]
    if written_off:
        there = max(movement.balance - movement.change for movement in written_off)
    else:
        before = Movement.objects.filter(lot=look.lot_id, recorded_at__lte=look.at).order_by("-id").first()
        there = before.balance if before else 0
    if there <= look.looked_at:
        return None
    rest, most_left = there - look.looked_at, inspect(look.faulty, look.looked_at, there).most_left
    return Sample(rest, most_left) if most_left < rest else None


def is_void(lot: Lot) -> bool:
    """Whether all that ever happened to the lot was undone, so that its code may be received afresh."""
    stands = Movement.objects.filter(lot=lot).exclude(kind=MovementKind.REVERSED).filter(reversed_by__isnull=True)
    return lot.on_hand == 0 and not stands.exists()
