"""What stock is worth; for engineers and owners."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render

from shop import clock
from shop.people.models import ENGINEERS
from shop.people.requests import PersonRequest
from shop.press.pages import shown_to
from shop.stock import queries

#: How many lots without a price are named.
NAMED = 20


@shown_to(ENGINEERS)
def worth(request: PersonRequest) -> HttpResponse:
    found = queries.stock_worth(clock.today())
    context = {
        "worth": found,
        "page": Paginator(found.items, 100).get_page(request.GET.get("page")),
        "lacking": found.lacking[:NAMED],
        "more": max(0, len(found.lacking) - NAMED),
        "is_guessed": bool(found.lacking) and found.guessed != found.value,
    }
    return render(request, "stock/worth.html", context)
