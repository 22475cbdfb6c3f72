"""What comes in."""

from collections.abc import Collection
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from shop import clock
from shop.people.models import HANDS, Person
from shop.people.queries import the_room
from shop.press.action import action
from shop.press.rules import not_after_today, one_of_its_name, words
from shop.refusal import Doubt, Refused, ask_unless_sure
from shop.stock import ledger, queries, rules
from shop.stock.amounts import COST_PLACES, price_in_words
from shop.stock.models import Item, Lot, MovementKind, OrderLine, Supplier, last_day_of
from shop.wording import in_full

#: A best-before further off than this (days) is asked about: the year may be mistyped.
_FAR_OFF = 3653
#: A price so many times the last one, or so small a part of it, is asked about: our own figure.
TIMES_OFF = Decimal(5)


@action(roles=HANDS)
def receive_delivery(
    *,
    by: Person,
    item: Item,
    code: str,
    quantity: int,
    supplier: Supplier | None = None,
    received_on: date | None = None,
    made_on: date | None = None,
    best_before: date | None = None,
    unit_cost: Decimal | None = None,
    note: str = "",
    sure: Collection[str] = (),
) -> Lot:
    """Enter one delivery: a new lot of `quantity` (in the item's unit), and its first line in the ledger.

    As `take_in`; for what came on an order see `receive_on_order`.
    """
    return take_in(
        by=by,
        item=item,
        code=code,
        quantity=quantity,
        supplier=supplier,
        received_on=received_on,
        made_on=made_on,
        best_before=best_before,
        unit_cost=unit_cost,
        note=note,
        sure=sure,
    )


def take_in(
    *,
    by: Person,
    item: Item,
    code: str,
    quantity: int,
    supplier: Supplier | None,
    received_on: date | None,
    made_on: date | None,
    best_before: date | None,
    unit_cost: Decimal | None,
    note: str,
    sure: Collection[str],
    order_line: OrderLine | None = None,
    doubts: Collection[Doubt] = (),
) -> Lot:
    """The one way in, called inside an action's transaction.

    received_on: None for today. unit_cost: in the room's currency, for one of the item's unit. doubts: the caller's
    own, asked with the others. Asks about a price far from the item's last one. Refuses a lot code that this
    supplier's lot of this item already has, unless all that was entered for that lot was undone: then it is filled in
    anew. Asks about a lot that is past its date on arrival, and about a date more than ten years off.
    """
    facts, of_dates = lot_facts(
        item=Item.objects.get(pk=item.pk),
        code=code,
        quantity=quantity,
        received_on=received_on,
        made_on=made_on,
        best_before=best_before,
        unit_cost=unit_cost,
        note=note,
    )
    agreed = order_line.unit_cost if order_line is not None else None
    of_price = _far_from_the_last(item, facts["unit_cost"], agreed=agreed, by=by)
    ask_unless_sure([*doubts, *of_dates, *of_price], sure)
    lot = _new_or_void(item=item, supplier=supplier, facts={**facts, "order_line": order_line})
    at = rules.came_at(lot.received_on)
    ledger.move(lot=lot, kind=MovementKind.RECEIVED, change=quantity, at=at, by=by, note=lot.note)
    return lot


def lot_facts(
    *,
    item: Item,
    code: str,
    quantity: int,
    received_on: date | None,
    made_on: date | None,
    best_before: date | None,
    unit_cost: Decimal | None,
    note: str,
) -> tuple[dict[str, Any], list[Doubt]]:
    """What is known of a lot that comes in, checked, by the names of its fields; and what looks wrong about its dates.

    The same for a delivery and for a row of a file. item: as it now stands.
    """
    if not item.is_active:
        raise Refused(f"{item.name} is no longer kept. Take it up again on its page first.", field="item")
    code = words(code, field="code", longest=60, needed=True)
    rules.whole(quantity, field="quantity", low=1)
    note = words(note, field="note", longest=300)
    received_on = not_after_today(received_on or clock.today(), field="received_on")
    rules.dates_agree(made_on=made_on, best_before=best_before, received_on=received_on)
    last_day = last_day_of(
        best_before=best_before, made_on=made_on, received_on=received_on, shelf_days=item.shelf_days
    )
    facts = {
        "code": code,
        "received_on": received_on,
        "made_on": made_on,
        "best_before": best_before,
        "last_day": last_day,
        "unit_cost": rules.cost(unit_cost, places=COST_PLACES),
        "note": note,
    }
    return facts, _doubts(best_before=best_before, last_day=last_day, received_on=received_on)


def _doubts(*, best_before: date | None, last_day: date | None, received_on: date) -> list[Doubt]:
    doubts = []
    if last_day is not None and last_day < received_on:
        field = "best_before" if best_before else "made_on"
        past = f"By that date it was usable through {in_full(last_day)}: past it on arrival. Is the date right?"
        doubts.append(Doubt("past-on-arrival", field, past))
    if best_before is not None and best_before > received_on + timedelta(days=_FAR_OFF):
        doubts.append(Doubt("far-off", "best_before", "That is more than ten years off. Is the year right?"))
    return doubts


def _far_from_the_last(item: Item, price: Decimal | None, *, agreed: Decimal | None, by: Person) -> list[Doubt]:
    """A price many times off from that of the item's last lot: most likely of another unit or number of things. Not of
    one that was agreed so in the order."""
    if not price or price == agreed:
        return []
    last = Lot.objects.filter(item=item, unit_cost__gt=0).order_by("-received_on", "-id").first()
    if last is None or last.unit_cost is None or 1 / TIMES_OFF <= price / last.unit_cost <= TIMES_OFF:
        return []
    more = "more than five times" if price > last.unit_cost else "less than a fifth of"
    currency = the_room().currency
    paid = f", {price_in_words(last.unit_cost, item, currency, by)} in lot {last.code}" if by.is_engineer else ""
    now = price_in_words(price, item, currency, by)
    sentence = f"{now} is {more} what it cost last{paid}. Is it the price of one, and not of another number of them?"
    return [Doubt(f"price-{price.normalize():f}", "unit_cost", sentence, confirm=f"It is right: {now}.")]


def _new_or_void(*, item: Item, supplier: Supplier | None, facts: dict[str, object]) -> Lot:
    """A new lot with these facts, or the one of the same code whose delivery was entered by mistake and undone."""
    same = Lot.objects.select_for_update().filter(item=item, supplier=supplier, code__iexact=facts["code"])
    lot = same.first()
    if lot is None:
        with one_of_its_name("Somebody received a lot of that code just now.", field="code"):
            return Lot.objects.create(item=item, supplier=supplier, **facts)
    if lot.is_held or not queries.is_void(lot):
        of = f" of {supplier.name}" if supplier else ""
        raise Refused(
            f"Lot {lot.code}{of} was already received on {in_full(lot.received_on)}. If more came under the same "
            f"code, add something to tell the two apart, such as “{lot.code} (2)”.",
            field="code",
        )
    for name, value in facts.items():
        setattr(lot, name, value)
    lot.version += 1
    lot.save(update_fields=[*facts, "version"])
    return lot
