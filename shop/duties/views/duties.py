"""Pages of duties: the list, one, its card; adding, changing and stopping one."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from shop import clock
from shop.duties import actions, effects, pictures, queries, sheets
from shop.duties.forms import AddDutyForm, ChangeDutyForm, ResumeDutyForm, StopDutyForm
from shop.duties.models import Duty
from shop.duties.tables import DutyFilter, DutyTable
from shop.paging import leaf
from shop.paper import pdf_response
from shop.people import authority
from shop.people.models import Person
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.wording import weekday_in_full


@require_safe
def duties(request: PersonRequest) -> HttpResponse:
    narrowed = DutyFilter(request.GET, queryset=queries.in_full())
    table = DutyTable(narrowed.qs)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    context = {"filter": narrowed, "table": table, "may_add": may(request.user, actions.add_duty)}
    return render(request, "duties/duties.html", context)


@require_safe
def duty(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _get(pk)
    now = clock.now()
    record = queries.record_of(shown)
    may_do = may(request.user, actions.do_duty)
    context = {
        **_told(shown, request.user),
        "record": record,
        "told": pictures.told(shown, record),
        "picture": pictures.intervals(shown, record, clock.today()) if len(record.spans) > 1 else None,
        "series": [(one, pictures.readings(one)) for one in queries.readings_of(shown, request.user)],
        "leaf": leaf(queries.history(shown), request.GET, size=20),
        "put_offs": queries.put_offs_of(shown) if shown.put_offs else [],
        "is_due": queries.is_due(shown, now),
        "is_late": queries.is_late(shown, now),
        "may_do": may_do,
        "may_put_off": may_do and (not shown.is_critical or request.user.is_engineer),
        "may_change": may(request.user, actions.change_duty),
    }
    return render(request, "duties/duty.html", context)


def _get(pk: int) -> Duty:
    return get_object_or_404(queries.in_full().select_related("stopped_by", "last_entry__by"), pk=pk)


def _told(duty: Duty, reader: Person) -> dict[str, Any]:
    """What a duty says of itself, on its page and on its card."""
    return {
        "duty": duty,
        "steps": queries.step_lines(duty, reader),
        "touches": effects.words_of(list(duty.touches.all()), reader),
        "sheet": sheets.sheet(duty.sheet),
        "stands_in": bool(duty.authority) and not authority.is_kept(duty.authority),
    }


@require_safe
def duty_card(request: PersonRequest, pk: int) -> HttpResponse:
    """One duty on paper, to hang where it is done."""
    shown = _get(pk)
    return pdf_response(request, "print/duty_card.html", _told(shown, request.user), name=shown.name)


@writes(actions.add_duty)
def add_duty(request: PersonRequest) -> HttpResponse:
    more = request.POST if "more" in request.POST else None
    form = AddDutyForm(None if more else request.POST or None, person=request.user, more=more, query=request.GET)
    if request.method == "POST" and not more and (made := form.press(actions.add_duty, by=request.user)):
        messages.success(request, f"{made.name} is on the list. {_when(made)}")
        return redirect(made)
    return render(request, "duties/add_duty.html", {"form": form}, status=form.http_status)


@writes(actions.change_duty)
def change_duty(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _get(pk)
    more = request.POST if "more" in request.POST else None
    form = ChangeDutyForm(
        None if more else request.POST or None, person=request.user, row=shown, more=more, query=request.GET
    )
    if request.method == "POST" and not more and (made := form.press(actions.change_duty, by=request.user, duty=shown)):
        messages.success(request, f"{made.name} is saved. {_when(made)}")
        return redirect(made)
    return render(request, "duties/change_duty.html", {"form": form, "duty": shown}, status=form.http_status)


def _when(duty: Duty) -> str:
    if duty.due_on is not None:
        return f"It is next due on {weekday_in_full(duty.due_on)}."
    return f"It falls due {duty.meter_words}." if duty.is_active and duty.meter else "It is not due by its calendar."


@writes(actions.stop_duty)
def stop_duty(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _get(pk)
    form = StopDutyForm(request.POST or None, person=request.user)
    return press_page(
        request,
        form,
        actions.stop_duty,
        said=f"{shown.name} is stopped. It falls due no more, and its entries stay.",
        to=shown,
        duty=shown,
    )


@writes(actions.resume_duty)
def resume_duty(request: PersonRequest, pk: int) -> HttpResponse:
    shown = _get(pk)
    form = ResumeDutyForm(request.POST or None, person=request.user)
    return press_page(
        request, form, actions.resume_duty, said=lambda made: f"{made.name} falls due again. {_when(made)}", duty=shown
    )
