"""Pages that answer "which lot was that?": the search, one trace and its paper."""

from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import queries, traced
from shop.cutting.queries import Trace, Traced
from shop.cutting.tables import TraceTable
from shop.paging import leaf
from shop.paper import pdf_response
from shop.people.requests import PersonRequest

#: The most sides on one paper; the export has all.
MOST_ON_PAPER = 2000


@require_safe
def trace(request: PersonRequest) -> HttpResponse:
    """What has the text in ?q= in its code, mark or run-out; a single match leads straight to its trace."""
    found = queries.matches(request.GET.get("q", ""))
    if found.only is not None:
        kind, row = found.only
        return redirect("cutting:trace-of", kind.value, row.pk)
    context = {"found": found, "states": _states(found), "most": queries.MOST_MATCHES}
    return render(request, "cutting/trace.html", context)


def _states(found: queries.Matches) -> dict[str, dict[int, str]]:
    """What has become of each match, in words."""
    day = clock.today()
    return {
        "lots": {lot.pk: ", ".join(traced.lot_marks(lot, day)) for lot in found.lots},
        "bookings": {booking.pk: traced.booking_state(booking) for booking in found.bookings},
    }


@require_safe
def trace_of(request: PersonRequest, kind: str, pk: int) -> HttpResponse:
    shown = _trace(kind, pk)
    page = leaf(shown.sides, request.GET)
    without = {Traced.LOT: ("lot",), Traced.STYLUS: ("life",), Traced.BOOKING: (), Traced.SIDE: ()}[shown.kind]
    if shown.lots:  # of a lot of styli the blanks' lots are shown
        without = tuple(name for name in without if name != "lot")
    context = _told(shown, request) | {
        "carried": urlencode({"kind": kind, "pk": pk}),
        "leaf": page,
        "table": TraceTable(page.rows, exclude=without),
    }
    return render(request, "cutting/trace_of.html", context)


@require_safe
def trace_pdf(request: PersonRequest, kind: str, pk: int) -> HttpResponse:
    shown = _trace(kind, pk)
    sides = list(shown.sides.select_related("lot__supplier")[: MOST_ON_PAPER + 1])
    context = _told(shown, request) | {"sides": sides[:MOST_ON_PAPER], "more_sides": len(sides) > MOST_ON_PAPER}
    return pdf_response(request, "print/trace.html", context, name=f"trace {traced.title_of(shown)}")


def _trace(kind: str, pk: int) -> Trace:
    found = queries.trace(Traced(kind), pk) if kind in Traced.values else None
    if found is None:
        raise Http404
    return found


def _told(shown: Trace, request: PersonRequest) -> dict[str, Any]:
    """What the page and the paper say alike."""
    return {
        "trace": shown,
        "title": traced.title_of(shown),
        "marks": traced.marks_of(shown),
        "facts": traced.facts_of(shown, request.user),
        "most": queries.MOST_TOUCHED,
    }
