"""Pages of the shop's own figures for the room."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from shop.people.requests import PersonRequest
from shop.press.pages import may, press_page, writes
from shop.room import actions, queries
from shop.room.forms import ChangeGasUseForm, ChangeLimitForm
from shop.room.kinds import LIMITED
from shop.room.models import LimitKind
from shop.room.wording import limit_words
from shop.wording import per_cent


@require_safe
def change_limits(request: PersonRequest) -> HttpResponse:
    """The limits of every kind, each with the way to change it, and the figures for gas."""
    kept = queries.limits()
    rows = [
        {
            "kind": kind,
            "about": about,
            "words": limit_words(about, kept.get(kind), request.user),
            "what_to_do": kept[kind].what_to_do if kind in kept else "",
        }
        for kind, about in LIMITED.items()
    ]
    use = queries.gas_use()
    context = {
        "rows": rows,
        "use": use,
        "low_percent": per_cent(use.low_share),
        "may_set": may(request.user, actions.change_limit),
    }
    return render(request, "room/change_limits.html", context)


@writes(actions.change_limit)
def change_limit(request: PersonRequest, kind: LimitKind) -> HttpResponse:
    about = LIMITED[kind]
    form = ChangeLimitForm(request.POST or None, person=request.user, row=queries.limit_of(kind))
    if request.method == "POST" and (limit := form.press(actions.change_limit, by=request.user, kind=kind)):
        words = limit_words(about, limit, request.user) or "none"
        messages.success(request, f"The limits for {about.short} are saved: {words}")
        return redirect("room:change-limits")
    context = {"form": form, "about": about}
    return render(request, "room/change_limit.html", context, status=form.http_status)


@writes(actions.change_gas_use)
def change_gas_use(request: PersonRequest) -> HttpResponse:
    form = ChangeGasUseForm(request.POST or None, person=request.user, row=queries.gas_use())
    return press_page(
        request, form, actions.change_gas_use, said="The figures for gas are saved.", to="room:change-limits"
    )
