"""Makers for stock, all by way of the actions a person would press."""

from datetime import date, datetime, timedelta
from itertools import count
from typing import Any
from uuid import UUID, uuid4

from shop import clock
from shop.people.models import Person
from shop.stock import actions
from shop.stock.actions import Counted
from shop.stock.models import (
    Count,
    Defect,
    Inspection,
    Intake,
    Item,
    ItemKind,
    Lot,
    Movement,
    Order,
    OrderLine,
    PastUse,
    StockUnit,
    Supplier,
)

_codes = count(101)


def make_item(by: Person, name: str = "14-inch blank", **other: Any) -> Item:
    """A blank of 14 inches unless told otherwise."""
    facts = {"kind": ItemKind.BLANK, "blank_in": 14} if "kind" not in other else {}
    return actions.add_item(by=by, once=uuid4(), name=name, **facts | other)


def make_liquid(by: Person, name: str = "Wiping solvent", **other: Any) -> Item:
    return make_item(by, name, **{"kind": ItemKind.LIQUID, "unit": StockUnit.ML} | other)


def make_supplier(by: Person, name: str = "Blankworks of Nowhere", **other: Any) -> Supplier:
    return actions.add_supplier(by=by, once=uuid4(), name=name, **other)


def make_lot(by: Person, item: Item, quantity: int = 10, *, code: str = "", **other: Any) -> Lot:
    code = code or f"L{next(_codes)}"
    return actions.receive_delivery(by=by, once=uuid4(), item=item, code=code, quantity=quantity, **other)


def make_defect(by: Person, name: str = "Orange peel") -> Defect:
    return actions.add_defect(by=by, once=uuid4(), name=name)


def use(by: Person, lot: Lot, quantity: int = 1, **other: Any) -> Any:
    return actions.use_stock(by=by, once=uuid4(), lot=lot, quantity=quantity, **other)


def day(text: str) -> date:
    return date.fromisoformat(text)


def once() -> UUID:
    """A fresh one-time token."""
    return uuid4()


def reverse(by: Person, movement: Movement, **other: Any) -> Movement:
    return actions.reverse_movement(by=by, once=once(), movement=movement, **other)


def count_it(by: Person, lot: Lot, counted: int, **other: Any) -> Movement:
    return actions.count_lot(by=by, once=once(), lot=lot, counted=counted, **other)


def make_order(by: Person, *lines: tuple[Any, ...], supplier: Supplier | None = None, **other: Any) -> Order:
    """A draft with a line for each (item, quantity) or (item, quantity, unit cost); from a supplier of its own."""
    return actions.draft_order(
        by=by,
        once=once(),
        supplier=supplier or make_supplier(by),
        lines=[actions.WantedLine(*line) for line in lines],
        **other,
    )


def send_order(by: Person, order: Order, **other: Any) -> Order:
    order.refresh_from_db()
    return actions.send_order(by=by, once=once(), order=order, version=order.version, **other)


def make_sent(by: Person, *lines: tuple[Any, ...], supplier: Supplier | None = None, **other: Any) -> Order:
    """An order that was sent, to a supplier that promises 35 days unless told otherwise."""
    supplier = supplier or make_supplier(by, lead_days=35)
    return send_order(by, make_order(by, *lines, supplier=supplier), **other)


def receive_line(by: Person, line: OrderLine, quantity: int, *, code: str = "", **other: Any) -> Lot:
    code = code or f"L{next(_codes)}"
    return actions.receive_on_order(by=by, once=once(), line=line, code=code, quantity=quantity, **other)


def inspect(by: Person, lot: Lot, looked_at: int, outcome: str, *found: tuple[Defect, int], **other: Any) -> Inspection:
    """A look over `lot`; found: each a defect and how many."""
    faults = [actions.Found(*one) for one in found]
    return actions.inspect_lot(by=by, once=once(), lot=lot, looked_at=looked_at, outcome=outcome, found=faults, **other)


def make_count(by: Person, **other: Any) -> Count:
    """A count of everything on hand, also where another covers it already."""
    sure = [f"also-in:{count.pk}" for count in Count.objects.all()]
    return actions.start_count(by=by, once=once(), sure=sure, **other)


def enter_count(by: Person, count: Count, at: datetime | None = None, **found: int) -> Count:
    """enter_count(by, count, A=10): so many of lot A were found."""
    counted = [Counted(count.lines.get(lot__code=code), number) for code, number in found.items()]
    return actions.enter_count(by=by, once=once(), count=count, counted=counted, at=at)


def make_given(by: Person, **found: int) -> Count:
    """A count in which so much was found of some lots, given in."""
    count = enter_count(by, make_count(by), **found)
    left = count.lines.count() - len(found)
    return actions.give_in_count(by=by, once=once(), count=count, sure=[f"left:{left}"])


def used_weekly(by: Person, item: Item, *, weekly: int, left: int, weeks: int = 40) -> Lot:
    """`weekly` used in each of the last so many weeks, as a file told, and so much left."""
    intake = Intake.objects.create(kind="past-use", name="f", size=1, digest="", sent_at=clock.now(), by=by)
    this = clock.monday_of(clock.now())
    PastUse.objects.bulk_create(
        PastUse(item=item, day=monday, monday=monday, whole_week=True, quantity=weekly, intake=intake)
        for monday in (this - timedelta(weeks=n) for n in range(1, weeks + 1))
    )
    return make_lot(by, item, left)
