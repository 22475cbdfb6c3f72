"""What is asked of suppliers: drafted, sent, promised anew, received, closed short or dropped."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import F

from shop import clock
from shop.people.authority import needs
from shop.people.models import ENGINEERS, HANDS, Person
from shop.press.action import action
from shop.press.rules import not_after_today, still_as_read, words
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.stock import arrivals, rules
from shop.stock.actions.coming import take_in
from shop.stock.amounts import COST_PLACES, in_words, lines_in_words, whole_packs
from shop.stock.models import Item, Lot, Order, OrderLine, OrderState, StepKind, Supplier
from shop.wording import in_full

#: More lines than one page of paper holds well.
MOST_LINES = 24
#: An arrival expected later than this (days from now) is asked about: the year may be mistyped.
_FAR_OFF = 731


@dataclass(frozen=True)
class WantedLine:
    """One line of an order as typed. quantity: in the item's unit; unit_cost: for one of it, None if not agreed."""

    item: Item
    quantity: int
    unit_cost: Decimal | None = None


@action(roles=HANDS)
def draft_order(
    *,
    by: Person,
    supplier: Supplier,
    lines: Sequence[WantedLine],
    note: str = "",
    sure: Collection[str] = (),
) -> Order:
    """Write an order down without sending it. note: a word to the supplier.

    Refuses an item twice, and what is no longer kept or ordered from. Asks about what is not a whole number of packs,
    or less than the smallest order.
    """
    supplier = _ordered_from(supplier)
    checked = _checked(lines, by=by, sure=sure)
    order = Order.objects.create(supplier=supplier, note=words(note, field="note", longest=500))
    _put_down(order, checked)
    arrivals.step(order, StepKind.DRAFTED, by=by, note=lines_in_words(checked, by))
    return order


@action(roles=HANDS)
def change_order(
    *,
    by: Person,
    order: Order,
    version: int,
    supplier: Supplier,
    lines: Sequence[WantedLine],
    note: str = "",
    sure: Collection[str] = (),
) -> Order:
    """Change a draft: its lines are those given. By the rules of `draft_order`; refuses what is sent or dropped.

    Raises Changed if somebody changed it since `version`.
    """
    fresh = _still_a_draft(still_as_read(order, version), "can't be changed")
    fresh.supplier = _ordered_from(supplier)
    checked = _checked(lines, by=by, sure=sure)
    fresh.note = words(note, field="note", longest=500)
    fresh.version += 1
    fresh.save()
    fresh.lines.all().delete()
    _put_down(fresh, checked)
    arrivals.step(fresh, StepKind.CHANGED, by=by, note=lines_in_words(checked, by))
    return fresh


@action(roles=HANDS)
@needs("order", otherwise=ENGINEERS)
def send_order(
    *,
    by: Person,
    order: Order,
    version: int,
    sent_on: date | None = None,
    expected_on: date | None = None,
    sure: Collection[str] = (),
) -> Order:
    """Enter that a draft went to its supplier. sent_on: None for today; expected_on: None for the day by its promise.

    Refuses an order of nothing. Asks if no day is known, for then it can never be late, and about a day far off. Raises
    Changed if somebody changed the draft since `version`: what is sent is what was looked at.
    """
    fresh = _still_a_draft(still_as_read(order, version), "can't be sent")
    supplier = _ordered_from(fresh.supplier)
    if not fresh.lines.exists():
        raise Refused("Nothing is on this order yet. Put something on it first.")
    sent_on = not_after_today(sent_on or clock.today(), field="sent_on")
    if expected_on is None and supplier.lead_days is not None:
        expected_on = sent_on + timedelta(days=supplier.lead_days)
    if expected_on is not None and expected_on < sent_on:
        raise Refused(f"That is before it is sent, on {in_full(sent_on)}.", field="expected_on")
    ask_unless_sure(_doubts_of_day(expected_on, supplier), sure)
    fresh.state, fresh.sent_on, fresh.expected_on = OrderState.SENT, sent_on, expected_on
    fresh.version += 1
    fresh.save()
    fresh.lines.update(is_open=True)
    arrivals.step(fresh, StepKind.SENT, by=by, note=_expected(expected_on))
    return fresh


@action(roles=HANDS)
def promise_anew(*, by: Person, order: Order, expected_on: date, why: str, sure: Collection[str] = ()) -> Order:
    """Enter another day on which what is still to come of an order is expected, and who said so or why."""
    fresh = _under_way(order)
    why = words(why, field="why", longest=300, needed=True)
    if expected_on < clock.today():
        raise Refused("That day has gone by. Give the day it is expected now.", field="expected_on")
    if expected_on == fresh.expected_on:
        raise Refused("That is the day it is expected already.", field="expected_on")
    ask_unless_sure(_doubts_of_day(expected_on, fresh.supplier), sure)
    fresh.expected_on = expected_on
    fresh.version += 1
    fresh.save(update_fields=["expected_on", "version"])
    arrivals.step(fresh, StepKind.PROMISED, by=by, note=f"{_expected(expected_on)}: {why}")
    return fresh


@action(roles=HANDS)
def receive_on_order(
    *,
    by: Person,
    line: OrderLine,
    code: str,
    quantity: int,
    received_on: date | None = None,
    made_on: date | None = None,
    best_before: date | None = None,
    unit_cost: Decimal | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Lot:
    """Take in what came on a line of an order: a lot as `receive_delivery` makes one, counted towards the line.

    Refuses an order that is not under way, so also one of which everything came. Asks about more than was ordered.
    """
    order = _under_way(line.order, came=True)
    line = OrderLine.objects.select_related("item").get(pk=line.pk)
    assert order.sent_on is not None
    if received_on is not None and received_on < order.sent_on:
        raise Refused(f"Order {order.pk} was only sent on {in_full(order.sent_on)}.", field="received_on")
    quantity = rules.whole(quantity, field="quantity", low=1)
    lot = take_in(
        by=by,
        item=line.item,
        code=code,
        quantity=quantity,
        supplier=order.supplier,
        received_on=received_on,
        made_on=made_on,
        best_before=best_before,
        unit_cost=unit_cost,
        note=note,
        sure=sure,
        order_line=line,
        doubts=_more_than_asked(line, quantity, by),
    )
    arrivals.count_in(order=order, line=line, lot=lot, quantity=quantity, by=by)
    return lot


@action(roles=ENGINEERS)
def close_order_short(*, by: Person, order: Order, why: str) -> Order:
    """Give up what is still to come of an order. Nothing more can be received on it."""
    fresh = _under_way(order)
    why = words(why, field="why", longest=300, needed=True)
    fresh.state = OrderState.CLOSED
    fresh.version += 1
    fresh.save(update_fields=["state", "version"])
    fresh.lines.update(is_open=False)
    arrivals.step(fresh, StepKind.CLOSED, by=by, note=why)
    return fresh


@action(roles=HANDS)
def drop_order(*, by: Person, order: Order, why: str = "") -> Order:
    """Give up a draft. It stays on record as dropped."""
    fresh = _still_a_draft(arrivals.locked_order(order.pk), "can't be dropped")
    why = words(why, field="why", longest=300)
    Order.objects.filter(pk=fresh.pk).update(state=OrderState.DROPPED, version=F("version") + 1)
    fresh.refresh_from_db()
    arrivals.step(fresh, StepKind.DROPPED, by=by, note=why)
    return fresh


# What is checked ------------------------------------------------------------------------------------------------------


def _ordered_from(supplier: Supplier) -> Supplier:
    supplier = Supplier.objects.get(pk=supplier.pk)
    if not supplier.is_active:
        raise Refused(
            f"{supplier.name} is no longer ordered from. Take it up again on its page first.", field="supplier"
        )
    return supplier


def _still_a_draft(order: Order, not_done: str) -> Order:
    if not order.is_draft:
        raise Refused(f"Order {order.pk} is no draft any more ({order.get_state_display().lower()}), so it {not_done}.")
    return order


def _under_way(order: Order, *, came: bool = False) -> Order:
    """The order, locked, while something may still come of it. came: whether something is being received on it."""
    fresh = arrivals.locked_order(order.pk)
    if fresh.is_under_way:
        return fresh
    if fresh.is_draft:
        raise Refused(f"Order {fresh.pk} is a draft: enter that it was sent first.")
    if fresh.state == OrderState.RECEIVED:
        assert fresh.received_on is not None
        more = " If more came, receive it as a delivery that was not on an order." if came else ""
        raise Refused(f"All of order {fresh.pk} had come by {in_full(fresh.received_on)}.{more}")
    more = " If it came all the same, receive it as a delivery that was not on an order." if came else ""
    raise Refused(f"Order {fresh.pk} is {fresh.get_state_display().lower()}: nothing more is expected on it.{more}")


def _checked(lines: Sequence[WantedLine], *, by: Person, sure: Collection[str]) -> list[WantedLine]:
    """The lines as they are kept. What is wrong with one is said of its place: "lines.2.quantity"."""
    if len(lines) > MOST_LINES:
        raise Refused(f"An order has at most {MOST_LINES} lines: make it two.", field="lines")
    kept = Item.objects.in_bulk([line.item.pk for line in lines])
    found: list[WantedLine] = []
    doubts: list[Doubt] = []
    for place, line in enumerate(lines):
        item, at = kept[line.item.pk], f"lines.{place}"
        if not item.is_active:
            raise Refused(f"{item.name} is no longer kept.", field=f"{at}.item")
        if any(item.pk == other.item.pk for other in found):
            raise Refused(f"{item.name} is there twice: put both on one line.", field=f"{at}.item")
        quantity = rules.whole(line.quantity, field=f"{at}.quantity", low=1)
        found.append(
            WantedLine(item, quantity, rules.cost(line.unit_cost, field=f"{at}.unit_cost", places=COST_PLACES))
        )
        doubts += _doubts_of_amount(item, quantity, by=by, field=f"{at}.quantity")
    ask_unless_sure(doubts, sure)
    return found


def _doubts_of_amount(item: Item, quantity: int, *, by: Person, field: str) -> list[Doubt]:
    whole = whole_packs(item, quantity)
    if quantity < item.minimum_order:
        least = in_words(item.minimum_order, item, by)
        return [Doubt(f"least:{item.pk}:{quantity}", field, f"{item.name}: the smallest order is {least}. Order less?")]
    if quantity != whole:
        pack, full = in_words(item.pack_size, item, by), in_words(whole, item, by)
        said = f"{item.name} comes in packs of {pack}: full ones would make {full}. Order a broken pack?"
        return [Doubt(f"packs:{item.pk}:{quantity}", field, said)]
    return []


def _put_down(order: Order, lines: Sequence[WantedLine]) -> None:
    OrderLine.objects.bulk_create(
        [OrderLine(order=order, item=line.item, quantity=line.quantity, unit_cost=line.unit_cost) for line in lines]
    )


def _doubts_of_day(expected_on: date | None, supplier: Supplier) -> list[Doubt]:
    if expected_on is None:
        none = f"{supplier.name} promises no lead time, and without a day it is never late. Send it without?"
        return [Doubt("no-day", "expected_on", none)]
    if expected_on > clock.today() + timedelta(days=_FAR_OFF):
        return [Doubt(f"far-off:{expected_on}", "expected_on", "That is more than two years off. Is the year right?")]
    return []


def _expected(day: date | None) -> str:
    return f"expected on {in_full(day)}" if day else "no day is known"


def _more_than_asked(line: OrderLine, quantity: int, by: Person) -> list[Doubt]:
    if quantity <= line.open_quantity:
        return []
    asked, came = in_words(line.quantity, line.item, by), in_words(line.arrived, line.item, by)
    said = f"{asked} was ordered and {came} has come: that makes more than was ordered. Is the count right?"
    return [Doubt(f"more:{line.pk}:{line.arrived}:{quantity}", "quantity", said)]
