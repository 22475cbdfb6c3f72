"""What somebody opens when something has gone wrong: from any page two presses away, and without the network.

These pages hold nothing about whoever looks at them, so that the browser may keep them on the device (hurry_worker.js).
"""

from pathlib import Path

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.people.requests import PersonRequest
from shop.safety import facts, queries
from shop.safety.models import HazardSheet

#: The heading by which a page of what is in force says that it may be kept. Other pages never are.
KEEP = "Latheside-Keep"
_WORKER = Path(settings.BASE_DIR) / "shop" / "static" / "shop" / "hurry_worker.js"


@require_safe
def hurry(request: PersonRequest) -> HttpResponse:
    """Every sheet on which something is written as one large button, those in force first."""
    kept = [state for state in queries.sheet_states() if state.sheet.is_active and facts.sections(state.parts)]
    in_force = [state for state in kept if state.in_force]
    context = {
        "in_force": in_force,
        "others": [state for state in kept if not state.in_force],
        "numbers": queries.call_numbers(),
        "now": clock.now(),
    }
    return _kept(render(request, "safety/hurry.html", context), bool(in_force))


@require_safe
def hurry_sheet(request: PersonRequest, slug: str) -> HttpResponse:
    """A sheet with what to do if it goes wrong before anything else."""
    sheet = get_object_or_404(HazardSheet.objects.select_related("substance"), slug=slug)
    state = queries.state_of(sheet)
    parts = facts.in_a_hurry(state.parts)
    context = {
        "state": state,
        "first": [section for section in parts if section.is_if],
        "then": [section for section in parts if not section.is_if],
        "numbers": queries.call_numbers(),
        "now": clock.now(),
    }
    return _kept(render(request, "safety/hurry_sheet.html", context), state.in_force is not None)


def _kept(response: HttpResponse, may_be: bool) -> HttpResponse:
    if may_be:
        response.headers[KEEP] = "in force"
    return response


@require_safe
def hurry_worker(request: PersonRequest) -> HttpResponse:
    """The script that keeps these pages, at an address from which it reaches them and no others."""
    return HttpResponse(_WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")
