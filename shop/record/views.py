"""Pages of the record, for owners."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from shop.paging import leaf
from shop.people.models import OWNERS
from shop.people.requests import PersonRequest
from shop.press.models import RecordHead
from shop.press.pages import shown_to
from shop.record import queries
from shop.record.filters import RecordFilter
from shop.record.tables import RecordTable


@shown_to(OWNERS)
def record(request: PersonRequest) -> HttpResponse:
    """Who did what, latest first, narrowed and leafed through in the database."""
    narrowed = RecordFilter(request.GET, queryset=queries.lines())
    page = leaf(narrowed.qs, request.GET, by=("number",))
    head = RecordHead.objects.filter(pk=1).first()
    context = {"filter": narrowed, "leaf": page, "table": RecordTable(page.rows), "head": head}
    return render(request, "record/record.html", context)


@shown_to(OWNERS)
def line(request: PersonRequest, number: int) -> HttpResponse:
    """One line: what was given, what differed by it, and where it stands in the chain."""
    found = get_object_or_404(queries.lines(), number=number)
    changed = [
        (row, [(name.replace("_", " "), was, became) for name, (was, became) in columns.items()])
        for row, columns in found.changed.items()
    ]
    context = {
        "line": found,
        "act": queries.act_words(found.act),
        "given": [(name.replace("_", " "), _in_lines(value)) for name, value in found.given.items()],
        "changed": changed,
    }
    return render(request, "record/line.html", context)


def _in_lines(value: Any) -> list[str]:
    """A given value for the page: a list in a line each, an empty one as none."""
    if isinstance(value, list):
        return [_in_words(one) for one in value]
    return [] if value in (None, "", {}) else [_in_words(value)]


def _in_words(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{name.replace('_', ' ')}: {_in_words(one)}" for name, one in value.items())
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)
