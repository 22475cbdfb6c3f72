"""Pages of the room's own sheets."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.people.requests import PersonRequest
from shop.safety import queries


@require_safe
def hazards(request: PersonRequest) -> HttpResponse:
    """Where somebody begins who asks what can hurt here."""
    return render(request, "safety/hazards.html", {"states": queries.sheet_states()})
