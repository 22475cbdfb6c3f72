"""Pages of reports: all of them with their numbers, one, its paper; telling of something, and what came of it."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.paging import leaf
from shop.paper import pdf_response
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.safety import actions, pictures, queries
from shop.safety.filters import IncidentFilter
from shop.safety.forms import NoteIncidentForm, ReportIncidentForm
from shop.safety.models import Incident


@require_safe
def incidents(request: PersonRequest) -> HttpResponse:
    narrowed = IncidentFilter(request.GET, queryset=queries.incidents())
    counted = queries.numbers(clock.now())
    context = {
        "filter": narrowed,
        "leaf": leaf(narrowed.qs, request.GET, size=30),
        "numbers": counted,
        "told": pictures.reports_told(counted),
        "picture": pictures.reports_by_month(counted) if counted.happened or counted.nearly else None,
    }
    return render(request, "safety/incidents.html", context)


def _incident(pk: int) -> Incident:
    return get_object_or_404(queries.incidents(), pk=pk)


def _told(incident: Incident, request: PersonRequest) -> dict[str, Any]:
    """What a report says, on its page and on paper; who was hurt and who told of it, to those who work here."""
    return {"incident": incident, "notes": queries.notes_of([incident]), "for_hands": request.user.is_hand}


@require_safe
def incident(request: PersonRequest, pk: int) -> HttpResponse:
    context = {**_told(_incident(pk), request), "may_note": may(request.user, actions.note_incident)}
    return render(request, "safety/incident.html", context)


@require_safe
def incident_pdf(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _incident(pk)
    return pdf_response(request, "print/incident.html", _told(shown, request), name=str(shown))


@writes(actions.report_incident)
def report_incident(request: PersonRequest) -> HttpResponse:
    """A report without a name leads to the list, and not to itself."""
    form = ReportIncidentForm(request.POST or None, person=request.user)
    if request.method == "POST" and (made := form.press(actions.report_incident, by=request.user)) is not None:
        if made.by_id is None:
            messages.success(request, "The report is kept, without a name.")
            return redirect("safety:incidents")
        messages.success(request, "The report is kept. Thank you for telling of it.")
        return redirect(made)
    context = {"form": form, "numbers": queries.call_numbers()}
    return render(request, "safety/report_incident.html", context, status=form.http_status)


@writes(actions.note_incident)
def note_incident(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _incident(pk)
    form = NoteIncidentForm(request.POST or None, person=request.user, incident=shown)
    return press_page(
        request,
        form,
        actions.note_incident,
        said=lambda made: f"{shown} is closed." if made.closes else "It is written down.",
        to=shown,
        incident=shown,
    )
