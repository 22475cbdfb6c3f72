"""Pages of what sides cost; for engineers and owners."""

from datetime import date, timedelta
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

#: How many days are shown unless others are asked for.
DAYS = 90
#: No side is older.
EARLIEST = date(1970, 1, 1)


@shown_to(ENGINEERS)
def costs(request: PersonRequest) -> HttpResponse:
    """Sides of ?since= to ?until=, else of the last DAYS days: all together, and by booking."""
    today = clock.today()
    chosen = CostFilter(request.GET, queryset=Side.objects.all())
    since, until = _span(chosen, today)
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


def _span(chosen: CostFilter, today: date) -> tuple[date, date]:
    said = chosen.form.cleaned_data if chosen.form.is_valid() else {}
    until = max(min(said.get("until") or today, today), EARLIEST)
    since = max(said.get("since") or until - timedelta(days=DAYS - 1), EARLIEST)
    return min(since, until), until


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
