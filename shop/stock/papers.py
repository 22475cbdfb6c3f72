"""An order as it goes to its supplier: what the page of paper holds, the same in plain text, and as a mail.

They speak the units of the room, not of whoever prints them, so that every copy says the same.
"""

from copy import copy
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from urllib.parse import quote

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from shop import clock
from shop.people.models import Person, Room
from shop.stock.amounts import in_words, price_in_words
from shop.stock.models import Order, OrderLine, OrderState
from shop.wording import grouped, in_full

#: Longer mail links than this (in characters) are cut off by some mail programs: then the text goes along by hand.
_LONGEST_LINK = 1800


@dataclass(frozen=True)
class PaperLine:
    """A line in words. packs: how many packs that is, "" where it isn't whole ones; price: for one; sum: for all."""

    name: str
    amount: str
    packs: str
    price: str
    sum: str


@dataclass(frozen=True)
class OrderPaper:
    """All that an order says. total: "" unless every line has a price; state: a warning on what is no open order;
    is_bare: its prices are left out."""

    order: Order
    lines: tuple[PaperLine, ...]
    total: str
    state: str
    is_bare: bool = False

    @property
    def marks(self) -> list[str]:
        """What stands above it, if anything does."""
        return [mark for mark in (self.state, "A copy without prices" if self.is_bare else "") if mark]


def going_out(order: Order, sent_on: date | None = None, expected_on: date | None = None) -> Order:
    """A draft as its supplier is to get it: with the day it goes, None for today, and the day it is expected, None for
    the one by their promise. Not to be saved. Any other order as it is."""
    if not order.is_draft:
        return order
    going = copy(order)
    going.sent_on = sent_on or clock.today()
    promised = order.supplier.lead_days
    by_promise = going.sent_on + timedelta(days=promised) if promised is not None else None
    going.expected_on = expected_on or by_promise
    going.state = OrderState.SENT
    return going


def order_paper(order: Order, room: Room, reader: Person) -> OrderPaper:
    """Prices are for those who may send an order; the copy of anybody else says that they are left out."""
    lines = list(order.lines.select_related("item"))
    bare = not reader.is_engineer and any(line.unit_cost is not None for line in lines)
    if bare:
        for line in lines:
            line.unit_cost = None
    priced = [line.unit_cost * line.quantity for line in lines if line.unit_cost is not None]
    return OrderPaper(
        order=order,
        lines=tuple(_line(line, room) for line in lines),
        is_bare=bare,
        total=money(sum(priced, Decimal()), room) if lines and len(priced) == len(lines) else "",
        state="Draft: not sent yet" if order.is_draft else _NO_ORDER.get(order.state, ""),
    )


_NO_ORDER: dict[str, str] = {
    OrderState.DROPPED: "Dropped: never sent",
    OrderState.CLOSED: "Closed: nothing more is to be sent",
}


def _line(line: OrderLine, room: Room) -> PaperLine:
    item, packs = line.item, ""
    if item.pack_size > 1 and line.quantity % item.pack_size == 0:
        count = line.quantity // item.pack_size
        packs = f"{grouped(count)} {'pack' if count == 1 else 'packs'} of {in_words(item.pack_size, item, room)}"
    price = whole = ""
    if line.unit_cost is not None:
        price = price_in_words(line.unit_cost, item, room.currency, room)
        whole = money(line.unit_cost * line.quantity, room)
    return PaperLine(item.name, in_words(line.quantity, item, room), packs, price, whole)


def money(amount: Decimal, room: Room) -> str:
    """An amount to the hundredth: "2362.50 EUR"."""
    return f"{amount:.2f} {room.currency}"


def order_text(paper: OrderPaper, room: Room) -> str:
    """The order in plain text, for the body of a mail; lines of at most 72 characters, but for long names."""
    order = paper.order
    head = [f"Order {order.pk}", f"From: {room.name}", f"To: {order.supplier.name}"]
    head[:0] = [mark.upper() for mark in paper.marks]
    if order.sent_on:
        head.append(f"Date: {in_full(order.sent_on)}")
    body = []
    for number, line in enumerate(paper.lines, 1):
        body.append(f"{number}. {line.name}")
        amount = f"{line.amount} ({line.packs})" if line.packs else line.amount
        body.append("   " + ", ".join(part for part in (amount, line.price, line.sum) if part))
    if not body:
        body.append("Nothing is on it yet.")
    tail = [f"In all: {paper.total}"] if paper.total else []
    if order.expected_on:
        tail.append(f"Expected by {in_full(order.expected_on)}")
    if order.note:
        tail += ["", order.note]
    tail += ["", f"Please put “Order {order.pk}” on the delivery, and the lot code on every box."]
    return "\n".join([*head, "", *body, "", *tail, ""]).replace("\u00a0", " ").replace("\u202f", " ")


def mail_link(paper: OrderPaper, room: Room) -> str:
    """A mailto: link that opens the order as a mail to its supplier; "" if where orders go is no mail address."""
    to = paper.order.supplier.contact
    try:
        validate_email(to)
    except ValidationError:
        return ""
    head = f"mailto:{quote(to, safe='@')}?subject={quote(f'Order {paper.order.pk}, {room.name}')}"
    link = f"{head}&body={quote(order_text(paper, room).replace(chr(10), chr(13) + chr(10)))}"
    return link if len(link) <= _LONGEST_LINK else head
