"""Pages of what is due: now, by the month, and on paper."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop import clock
from shop.duties import actions, queries
from shop.paper import pdf_response
from shop.people.models import Role
from shop.people.requests import PersonRequest
from shop.press.pages import may

YOURS, EVERYONES = "yours", "everyones"


@require_safe
def due(request: PersonRequest) -> HttpResponse:
    """An assistant sees first what is theirs; who answers for the room, everything."""
    usual = YOURS if request.user.role == Role.ASSISTANT else EVERYONES
    whose = request.GET.get("whose", usual)
    if whose not in (YOURS, EVERYONES):
        whose = usual
    lists = queries.due_lists(clock.now(), request.user, whose=whose)
    context = {
        "lists": lists,
        "whose": whose,
        "day": clock.today(),
        "may_do": may(request.user, actions.do_duty),
        "may_add": may(request.user, actions.add_duty),
    }
    return render(request, "duties/due.html", context)


@require_safe
def month(request: PersonRequest) -> HttpResponse:
    """?month=2025-03; the present one without."""
    first = queries.first_of_month(request.GET.get("month", ""), clock.today())
    context = {"month": queries.month_of(first, clock.now()), "may_do": may(request.user, actions.do_duty)}
    return render(request, "duties/month.html", context)


@require_safe
def due_pdf(request: PersonRequest) -> HttpResponse:
    """What is due this week as a list to tick off by hand."""
    lists = queries.due_lists(clock.now(), request.user, whose=EVERYONES)
    context = {"lists": lists, "day": clock.today(), "steps": queries.steps_of(lists.all)}
    return pdf_response(request, "print/due.html", context, name=f"due-{clock.today()}")
