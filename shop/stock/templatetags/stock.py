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
    return amounts.in_words(value, item, _reader(context))


@register.simple_tag(takes_context=True)
def change(context: Context, value: int, item: Item) -> str:
    """A change of an item with its sign, in the reader's unit."""
    return amounts.change_in_words(value, item, _reader(context))


@register.simple_tag(takes_context=True)
def money(context: Context, amount: Decimal) -> str:
    """An amount in the room's currency, to the hundredth."""
    return papers.money(amount, _room(context))


@register.simple_tag(takes_context=True)
def mean_price(context: Context, value: Decimal, item: Item) -> str:
    """What one of an item costs on average, in the reader's unit: to the hundredth, below 1 finer."""
    return amounts.price_in_words(value, item, _room(context).currency, _reader(context), rough=True)


def _reader(context: Context) -> Units:
    reader: Any = context.get("user")
    return reader if isinstance(reader, Units) else Room()


def _room(context: Context) -> Room:
    room = context.get("room")
    return room if isinstance(room, Room) else Room()


@register.simple_tag(takes_context=True)
def price(context: Context, value: Decimal, item: Item) -> str:
    """What one of an item costs, in the reader's unit: "31.50 EUR each", "12.00 EUR a l"."""
    return amounts.price_in_words(value, item, _room(context).currency, _reader(context))


@register.simple_tag
def days_off(day: date) -> int:
    """Days from today until `day`, below zero once it is past."""
    return (day - clock.today()).days


@register.simple_tag(takes_context=True)
def rate(context: Context, expected: float, item: Item) -> str:
    """An expected quantity of an item, which need not be whole, in the reader's unit."""
    return wording.rate_words(expected, item, _reader(context))


@register.simple_tag(takes_context=True)
def may(context: Context, name: str) -> bool:
    """Whether the signed-in person's role reaches the action of stock of that name."""
    return person_may(context["user"], getattr(actions, name))
