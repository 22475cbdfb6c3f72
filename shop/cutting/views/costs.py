"""Pages of what sides cost; for engineers and owners."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from shop import clock
from shop.cutting import actions, queries
from shop.cutting.filters import CostFilter
from shop.cutting.forms import ChangeCostFiguresForm
from shop.cutting.models import Booking, Side
from shop.people.models import ENGINEERS
from shop.people.requests import PersonRequest
from shop.press.pages import press_page, shown_to, writes


@shown_to(ENGINEERS)
def costs(request: PersonRequest) -> HttpResponse:
    """Sides of ?since= to ?until=, else of the last CostFilter.DAYS days: all together, and by booking."""
    chosen = CostFilter(request.GET, queryset=Side.objects.all())
    since, until = chosen.span(clock.today())
    period = queries.costs_between(clock.day_bounds(since)[0], clock.day_bounds(until)[1])
    context = {
        "filter": chosen,
        "since": since,
        "until": until,
        "period": period,
        **_told(period.all),
        "page": Paginator(period.bookings, 30).get_page(request.GET.get("page")),
        "figures": queries.cost_figures(),
    }
    return render(request, "cutting/costs.html", context)


@shown_to(ENGINEERS)
def booking_cost(request: PersonRequest, pk: int) -> HttpResponse:
    """What a booking took, cut by cut."""
    shown = get_object_or_404(Booking, pk=pk)
    context = {"booking": shown, **_told(queries.costs_of(shown)), "figures": queries.cost_figures()}
    return render(request, "cutting/booking_cost.html", context)


def _told(found: queries.Costs) -> dict[str, Any]:
    return {"costs": found, "lacking": {"blank": found.lacking("blank"), "stylus": found.lacking("stylus")}}


@writes(actions.change_cost_figures)
def change_cost_figures(request: PersonRequest) -> HttpResponse:
    form = ChangeCostFiguresForm(request.POST or None, person=request.user, row=queries.cost_figures())
    return press_page(
        request, form, actions.change_cost_figures, said="The room’s own figures are saved.", to="cutting:costs"
    )
