"""Pages of meters."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop import paging
from shop.duties import actions, queries
from shop.duties.forms import ChangeMeterForm, ResetMeterForm
from shop.duties.models import Meter
from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes


@require_safe
def meters(request: PersonRequest) -> HttpResponse:
    states = queries.states()
    resetting = queries.duty_that_resets([state.meter.pk for state in states])
    context = {
        "states": [{"meter": s.meter, "state": s, "resetting": resetting.get(s.meter.pk)} for s in states],
        "may_reset": may(request.user, actions.reset_meter),
    }
    return render(request, "duties/meters.html", context)


@require_safe
def meter(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Meter, pk=pk)
    return render(
        request,
        "duties/meter.html",
        {
            "state": queries.state_of(shown),
            "resetting": queries.duty_that_resets([shown.pk]).get(shown.pk),
            "duties": queries.in_full().filter(meter=shown, is_active=True),
            "leaf": paging.leaf(queries.ticks_of(shown), request.GET, by=("id",), size=30),
            "may_reset": may(request.user, actions.reset_meter),
            "may_change": may(request.user, actions.change_meter),
        },
    )


@writes(actions.reset_meter)
def reset_meter(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Meter, pk=pk)
    form = ResetMeterForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.press(actions.reset_meter, by=request.user, meter=shown) is not None:
        shown.refresh_from_db()
        messages.success(
            request, f"{shown.name}: {shown.reset_word}, and recorded. It stands at {shown.shown(shown.value)}."
        )
        return redirect(shown)
    return render(
        request,
        "duties/reset_meter.html",
        {
            "form": form,
            "state": queries.state_of(shown),
            "resetting": queries.duty_that_resets([shown.pk]).get(shown.pk),
        },
        status=form.http_status,
    )


@writes(actions.change_meter)
def change_meter(request: PersonRequest, pk: int) -> HttpResponse:
    shown = get_object_or_404(Meter, pk=pk)
    form = ChangeMeterForm(request.POST or None, person=request.user, row=shown)
    return press_page(
        request,
        form,
        actions.change_meter,
        said=f"{shown.name}: the shop's own limits and words are saved.",
        to=shown,
        meter=shown,
    )
