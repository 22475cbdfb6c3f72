"""The page that looks back: what the sides of some time come to."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import queries
from shop.cutting.filters import DaysFilter
from shop.cutting.models import Side
from shop.cutting.pictures.looking_back import (
    MOST_BARS,
    MOST_IN_ORDER,
    drawn_words,
    hours_picture,
    hours_words,
    reasons_picture,
    shares_picture,
    shares_words,
)
from shop.people.requests import PersonRequest


@require_safe
def looking_back(request: PersonRequest) -> HttpResponse:
    """Of ?since= to ?until=, else of the last DaysFilter.DAYS days. What sides cost is for engineers and owners."""
    chosen = DaysFilter(request.GET, queryset=Side.objects.all())
    since, until = chosen.span(clock.today())
    start, end = clock.day_bounds(since)[0], clock.day_bounds(until)[1]
    found = queries.looking_back(start, end)
    costs = queries.costs_between(start, end) if request.user.is_engineer else None
    context = {
        "filter": chosen,
        "since": since,
        "until": until,
        "found": found,
        "costs": costs.all if costs is not None else None,
        "hours": hours_picture(found.styli) if found.styli else "",
        "hours_words": hours_words(found.styli) if found.styli else "",
        "reasons": reasons_picture(found.reasons) if found.reasons else "",
        "reasons_drawn": drawn_words(found.reasons),
        "shares": _shares(found),
    }
    return render(request, "cutting/looking_back.html", context)


def _shares(found: queries.LookingBack) -> list[dict[str, Any]]:
    """The pictures of shares, each with its words and its rows."""
    if found.all is None:
        return []
    assert found.all_of_lots is not None
    for_blanks = "rejected for what may be the blank's: what the stylus is blamed for is left out"
    shown = []
    for slug, title, head, rows, whole, rejected in (
        ("lot", "Rejects by lot", "Lot", found.lots, found.all_of_lots, for_blanks),
        ("age", "Rejects by age of the edge", "The edge had cut", found.ages, found.all, "rejected"),
        ("month", "Rejects by month", "Month", found.months, found.all, "rejected"),
    ):
        in_order = slug != "lot"
        words = shares_words(rows, whole, rejected)
        drawn = drawn_words(rows, most=MOST_IN_ORDER if in_order else MOST_BARS, in_order=in_order)
        picture = shares_picture(rows, title=title, whole=whole, words=words, in_order=in_order)
        shown.append(
            {
                "slug": slug,
                "title": title,
                "head": head,
                "rows": rows,
                "picture": picture,
                "words": words,
                "drawn": drawn,
            }
        )
    return shown
