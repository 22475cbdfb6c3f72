"""Filters for the pages of cutting."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import template
from django.template.context import Context

from shop.calc import units
from shop.cutting import wording
from shop.people.models import Room
from shop.stock import papers
from shop.wording import per_cent

register = template.Library()

register.filter("age", wording.age_words)
register.filter("minutes", wording.minutes_words)
register.filter("chance", wording.chance_words)
register.filter("level", wording.level_words)


@register.filter
def hours(seconds: float) -> str:
    """Seconds as hours, one decimal."""
    return f"{seconds / 3600:.1f}"


@register.filter
def hours_minutes(seconds: float) -> str:
    """Seconds as hours and minutes: "2:07"."""
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours}:{minutes:02}"


@register.filter
def clock(minutes: float) -> str:
    """Minutes as they are written on a box."""
    return wording.minutes_words(60 * minutes)


@register.filter
def grams(mg: float) -> str:
    """Milligrams as grams: two decimals below ten, where they still tell something."""
    return f"{mg / 1000:.2f}" if mg < 10_000 else f"{mg / 1000:.1f}"


@register.filter
def metres(mm: float) -> float:
    """Of millimetres, for `quantity`."""
    return mm / 1000


@register.filter
def lines(pitch_um: float) -> str:
    """A pitch as lines per inch."""
    return f"{units.lines_from_pitch_um(pitch_um):.0f}"


@register.filter
def percent(share: float) -> str:
    return per_cent(share)


@register.filter
def milliseconds(moment: datetime) -> int:
    """A moment as milliseconds since 1970, for a script."""
    return round(moment.timestamp() * 1000)


@register.filter
def of(found: Mapping[Any, Any], key: Any) -> Any:
    """The value a mapping has for a key, or None."""
    return found.get(key)


@register.simple_tag(takes_context=True)
def money(context: Context, amount: float | None) -> str:
    """An amount in the room's currency, to the hundredth; a dash for none."""
    room: Any = context.get("room") or Room()
    return papers.money(Decimal(str(round(amount, 2))), room) if amount is not None else "–"
