"""Tags for the pages of stock."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import template
from django.template.context import Context

from shop import clock
from shop.people.models import Room, Units
from shop.press.pages import may as person_may
from shop.stock import actions, amounts, papers, wording
from shop.stock.models import Item
from shop.wording import chance_words

register = template.Library()
register.filter("grouped", amounts.grouped)

register.filter("chance", chance_words)


@register.simple_tag(takes_context=True)
def amount(context: Context, value: int, item: Item) -> str:
    """`value` of an item in the reader's unit."""
    reader: Any = context.get("user")
    return amounts.in_words(value, item, reader if isinstance(reader, Units) else Room())


@register.simple_tag(takes_context=True)
def change(context: Context, value: int, item: Item) -> str:
    """A change of an item with its sign, in the reader's unit."""
    reader: Any = context.get("user")
    return amounts.change_in_words(value, item, reader if isinstance(reader, Units) else Room())


@register.simple_tag(takes_context=True)
def money(context: Context, amount: Decimal) -> str:
    """An amount in the room's currency, to the hundredth."""
    return papers.money(amount, _room(context))


@register.simple_tag(takes_context=True)
def mean_price(context: Context, value: Decimal, item: Item) -> str:
    """What one of an item's unit costs on average: to the hundredth, below 1 to a hundredth of that."""
    return amounts.price_in_words(round(value, 2 if value >= 1 else 4), item, _room(context).currency)


def _room(context: Context) -> Room:
    room = context.get("room")
    return room if isinstance(room, Room) else Room()


@register.simple_tag(takes_context=True)
def price(context: Context, value: Decimal, item: Item) -> str:
    """What one of an item's unit costs: "31.50 EUR each"."""
    room: Any = context.get("room") or Room()
    return amounts.price_in_words(value, item, room.currency)


@register.simple_tag
def days_off(day: date) -> int:
    """Days from today until `day`, below zero once it is past."""
    return (day - clock.today()).days


@register.simple_tag(takes_context=True)
def rate(context: Context, expected: float, item: Item) -> str:
    """An expected quantity of an item, which need not be whole, in the reader's unit."""
    reader: Any = context.get("user")
    return wording.rate_words(expected, item, reader if isinstance(reader, Units) else Room())


@register.simple_tag(takes_context=True)
def may(context: Context, name: str) -> bool:
    """Whether the signed-in person's role reaches the action of stock of that name."""
    return person_may(context["user"], getattr(actions, name))
