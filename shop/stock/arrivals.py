"""What came on an order: kept with it in the transaction of the movement that brought it or took it back.

Inner functions, called inside an action's transaction. Whoever changes what came locks the order first and the lot
after, so that two people at the same order wait for each other and never lock crosswise.
"""

from datetime import date

from django.db.models import Max, Min

from shop import clock
from shop.people.models import Person
from shop.stock.amounts import in_words
from shop.stock.models import Lot, Movement, MovementKind, Order, OrderLine, OrderState, OrderStep, StepKind


def locked_order(pk: int) -> Order:
    """The order as it now stands, its row ours until the transaction ends (SQLite's IMMEDIATE has locked already)."""
    return Order.objects.select_for_update(of=("self",)).select_related("supplier").get(pk=pk)


def lock_order_of(lot_id: int) -> None:
    """Lock the order that a lot came on, if it came on one: before the lot itself is locked."""
    line = OrderLine.objects.filter(lots=lot_id).only("order_id").first()
    if line is not None:
        locked_order(line.order_id)


def step(order: Order, kind: StepKind, *, by: Person, note: str = "") -> OrderStep:
    """Write down what was done with an order."""
    longest = 500
    said = note if len(note) <= longest else f"{note[: longest - 1]}…"
    return OrderStep.objects.create(order=order, kind=kind, at=clock.now(), by=by, note=said)


def count_in(*, order: Order, line: OrderLine, lot: Lot, quantity: int, by: Person) -> None:
    """Count a delivery towards its line; `order` is locked, and `line` as it now stands."""
    came = lot.received_on
    line.arrived += quantity
    line.first_on = min(line.first_on or came, came)
    line.last_on = max(line.last_on or came, came)
    line.is_open = line.open_quantity > 0
    line.save(update_fields=["arrived", "first_on", "last_on", "is_open"])
    _settle(order)
    step(order, StepKind.ARRIVED, by=by, note=_said(lot, quantity, by))


def take_back(*, lot: Lot, quantity: int, by: Person) -> None:
    """Take a delivery that was undone off its line again, and give the order back the state that leaves it in."""
    assert lot.order_line_id is not None
    line = OrderLine.objects.get(pk=lot.order_line_id)
    stands = Movement.objects.filter(lot__order_line=line, kind=MovementKind.RECEIVED, reversed_by__isnull=True)
    days = stands.order_by().aggregate(first=Min("lot__received_on"), last=Max("lot__received_on"))
    line.arrived -= quantity
    line.first_on, line.last_on = days["first"], days["last"]
    order = locked_order(line.order_id)
    line.is_open = line.open_quantity > 0 and order.state != OrderState.CLOSED
    line.save(update_fields=["arrived", "first_on", "last_on", "is_open"])
    _settle(order)
    step(order, StepKind.UNDONE, by=by, note=_said(lot, quantity, by))


def _settle(order: Order) -> None:
    """Let the state say what came of the lines. One that was closed short stays closed."""
    if order.state == OrderState.CLOSED:
        return
    lines = list(order.lines.all())
    came: list[date] = [line.last_on for line in lines if line.last_on is not None]
    if all(line.open_quantity == 0 for line in lines):
        order.state, order.received_on = OrderState.RECEIVED, max(came)
    else:
        order.state, order.received_on = (OrderState.PART if came else OrderState.SENT), None
    order.version += 1
    order.save(update_fields=["state", "received_on", "version"])


def _said(lot: Lot, quantity: int, by: Person) -> str:
    return f"{in_words(quantity, lot.item, by)} of {lot.item.name}, lot {lot.code}"
