"""Pages of what becomes of masters."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.forms import (
    KeepMastersBackForm,
    NoteArrivalForm,
    ReportMastersForm,
    SendAfterAllForm,
    SendMastersForm,
)
from shop.cutting.models import Master, Parcel
from shop.paging import leaf
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes

#: How many masters that wait, or were kept back, a page shows.
MOST, MOST_KEPT = 60, 12


@require_safe
def plating(request: PersonRequest) -> HttpResponse:
    """What waits, what is on its way, and what was said of it."""
    limit = queries.limits().plating_days
    waiting = list(queries.waiting_masters()[: MOST + 1])
    context = {
        "waits": queries.waits(waiting[:MOST], limit, clock.today()),
        "has_more": len(waiting) > MOST,
        "limit": limit,
        "leaf": leaf(queries.parcels(), request.GET, by=("sent_at", "id"), size=20),
        "kept": list(queries.kept_masters()[:MOST_KEPT]),
        "may_send": may(request.user, actions.send_masters),
    }
    return render(request, "cutting/plating.html", context)


@writes(actions.send_masters)
def send_masters(request: PersonRequest) -> HttpResponse:
    form = SendMastersForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.send_masters, said=lambda parcel: f"{parcel} is on its way.")


@writes(actions.keep_masters_back)
def keep_masters_back(request: PersonRequest) -> HttpResponse:
    form = KeepMastersBackForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.keep_masters_back, said="They are kept back, and why.", to="cutting:plating"
    )


@writes(actions.send_after_all)
def send_after_all(request: PersonRequest, pk: int) -> HttpResponse:
    master = get_object_or_404(Master.objects.select_related("side__wanted__booking", "kept_by"), pk=pk)
    form = SendAfterAllForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.send_after_all, said="It waits to be sent again.", to="cutting:plating", master=master
    )


@require_safe
def parcel(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Parcel.objects.select_related("sent_by", "arrived_by"), pk=pk)
    context = {
        "parcel": shown,
        "masters": queries.masters_of(shown),
        "again": queries.to_cut_again(shown),
        "may_log": may(request.user, actions.start_side),
        "may_report": may(request.user, actions.report_masters),
    }
    return render(request, "cutting/parcel.html", context)


@writes(actions.note_arrival)
def note_arrival(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Parcel, pk=pk)
    form = NoteArrivalForm(request.POST or None, person=request.user)
    return press_page(request, form, actions.note_arrival, said=f"{shown} has arrived.", to=shown, parcel=shown)


@writes(actions.report_masters)
def report_masters(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Parcel, pk=pk)
    there = queries.masters_of(shown).filter(side__withdrawal__isnull=True)
    form = ReportMastersForm(request.POST or None, person=request.user, masters=there)
    return press_page(request, form, actions.report_masters, said=_reported, to=shown, parcel=shown)


def _reported(parcel: Parcel) -> str:
    again = ", ".join(str(wanted) for wanted in queries.to_cut_again(parcel))
    return "What was reported is written down." + (f" To be cut again: {again}." if again else "")
