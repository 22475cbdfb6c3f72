"""The log on other pages: what was written about the thing that a page shows, and the way to write about it."""

from typing import Any

from django import template
from django.db.models import Model
from django.template.context import Context

from shop.log import queries, things

register = template.Library()


@register.inclusion_tag("log/parts/log_of.html", takes_context=True)
def log_of(context: Context, row: Model, title: str = "In the log") -> dict[str, Any]:
    """The latest notes about a row, one query; nothing for visitors, who do not read the log. title: its headline."""
    user = context.get("user")
    if not getattr(user, "is_hand", False):
        return {}
    ref = things.ref_of(row)
    found = queries.beside(*things.split(ref))
    return {"ref": ref, "notes": found[: queries.BESIDE], "more": len(found) > queries.BESIDE, "title": title}
